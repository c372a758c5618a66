// Package password turns passwords into hashes and checks them, slowly on purpose
// and never more than two at a time, since each takes 64 MiB while it runs.
package password

import (
	"fmt"
	"unicode/utf8"

	"github.com/alexedwards/argon2id"

	"endcast/internal/domain/fault"
)

// Shortest and longest password that is taken. The longest bounds the work that a
// stranger can ask for; the shortest follows the length that NIST SP 800-63B asks
// for where a password is the only factor (from memory).
const (
	MinLength = 15
	MaxLength = 256
)

// params cost about 80 ms on one server core: 64 MiB, three passes, two lanes.
var params = &argon2id.Params{Memory: 64 * 1024, Iterations: 3, Parallelism: 2, SaltLength: 16, KeyLength: 32}

// running holds one token for each hash in progress.
var running = make(chan struct{}, 2)

// dummy is compared with when there is no account, so that a stranger cannot tell
// from the time whether there is one. It is the hash of a random text nobody kept.
const dummy = "$argon2id$v=19$m=65536,t=3,p=2$R1p4c0Y1b0hXbE5rVDdhUQ$6pSmk2o0QmJrVfJ9k6Sx0cN1hTqJm4uYb3rXzG8wLdE"

// Check reports, as a reason to show, why a new password cannot be taken, or "".
func Check(plain string) string {
	switch n := utf8.RuneCountInString(plain); {
	case n < MinLength:
		return fmt.Sprintf("a password has at least %d characters, got %d", MinLength, n)
	case n > MaxLength:
		return fmt.Sprintf("a password has at most %d characters, got %d", MaxLength, n)
	}
	return ""
}

// Hash returns the text to store for a password. A password that Check refuses is
// an invalid field "password".
func Hash(plain string) (string, error) {
	if reason := Check(plain); reason != "" {
		var bad fault.Invalid
		bad.Add("password", "", reason)
		return "", bad.Err()
	}
	running <- struct{}{}
	defer func() { <-running }()
	return argon2id.CreateHash(plain, params)
}

// Matches reports whether plain is the password behind a stored hash, and whether
// the hash was made with older parameters and should be made anew. An empty hash
// takes as long as any other and never matches.
func Matches(plain, hash string) (ok, stale bool, err error) {
	if utf8.RuneCountInString(plain) > MaxLength {
		plain = plain[:MaxLength]
		hash = ""
	}
	unknown := hash == ""
	if unknown {
		hash = dummy
	}
	running <- struct{}{}
	defer func() { <-running }()
	ok, used, err := argon2id.CheckHash(plain, hash)
	if err != nil {
		return false, false, fmt.Errorf("check password: %w", err)
	}
	return ok && !unknown, ok && *used != *params, nil
}

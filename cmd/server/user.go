package main

import (
	"bufio"
	"context"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"endcast/internal/db"
	"endcast/internal/password"
)

var userCommand = command{
	name: "user", args: "add EMAIL NAME | password EMAIL | disable EMAIL | enable EMAIL | link EMAIL SUBJECT | unlink EMAIL | list", brief: "look after accounts",
	setup: func(fs *flag.FlagSet) action {
		admin := fs.Bool("admin", false, "add: may look after the whole installation")
		typed := fs.Bool("password-stdin", false, "add, password: read the password from the first line of input instead of making one")
		return func(ctx context.Context, c console, set settings, args []string) error {
			word, rest, err := firstWord(fs, args, "add", "password", "disable", "enable", "link", "unlink", "list")
			if err != nil {
				return err
			}
			if err := userArguments(word, rest); err != nil {
				return err
			}
			u := accounts{console: c, typed: *typed, admin: *admin}
			return withPool(ctx, c, set, func(ctx context.Context, pool *pgxpool.Pool) error {
				u.people = db.People{Pool: pool}
				switch word {
				case "add":
					return u.add(ctx, rest[0], strings.Join(rest[1:], " "))
				case "password":
					return u.newPassword(ctx, rest[0])
				case "list":
					return u.list(ctx)
				case "link":
					return u.link(ctx, rest[0], db.Identity{Issuer: set.SignOnIssuer, Subject: rest[1]})
				case "unlink":
					return u.unlink(ctx, rest[0])
				}
				return u.enable(ctx, rest[0], word == "enable")
			})
		}
	},
}

func userArguments(word string, rest []string) error {
	switch {
	case word == "list":
		return noArguments(rest)
	case word == "add" && len(rest) < 2:
		return usagef("add needs EMAIL and NAME")
	case word == "link":
		if len(rest) != 2 {
			return usagef("link needs EMAIL and SUBJECT, what the sign-on service calls the person")
		}
	case word != "add" && len(rest) != 1:
		return usagef("%s needs one EMAIL", word)
	}
	return nil
}

type accounts struct {
	console
	people       db.People
	typed, admin bool
}

func (u accounts) add(ctx context.Context, email, name string) error {
	plain, hash, err := u.choose()
	if err != nil {
		return err
	}
	made, err := u.people.Create(ctx, db.NewUser{Email: email, Name: name, PasswordHash: hash, SiteAdmin: u.admin})
	if err != nil {
		return err
	}
	fmt.Fprintf(u.out, "account %s made\n", made.Email)
	u.show(plain)
	return nil
}

func (u accounts) newPassword(ctx context.Context, email string) error {
	c, err := u.people.Credentials(ctx, email)
	if err != nil {
		return err
	}
	plain, hash, err := u.choose()
	if err != nil {
		return err
	}
	if _, err := u.people.SetPassword(ctx, c.ID, hash); err != nil {
		return err
	}
	fmt.Fprintf(u.out, "password of %s changed; signed-in sessions are over\n", c.Email)
	u.show(plain)
	return nil
}

func (u accounts) enable(ctx context.Context, email string, on bool) error {
	c, err := u.people.Credentials(ctx, email)
	if err != nil {
		return err
	}
	if on {
		err = u.people.Enable(ctx, c.ID)
	} else {
		err = u.people.Disable(ctx, c.ID, time.Now())
	}
	if err != nil {
		return err
	}
	fmt.Fprintf(u.out, "account %s %s\n", c.Email, map[bool]string{true: "enabled", false: "disabled"}[on])
	return nil
}

// link says by which identity of the sign-on service somebody may sign in. The service of
// the settings counts.
func (u accounts) link(ctx context.Context, email string, who db.Identity) error {
	if who.Issuer == "" {
		return errors.New("link needs -sign-on-issuer or ENDCAST_SIGN_ON_ISSUER, the service that knows the person")
	}
	c, err := u.people.Credentials(ctx, email)
	if err != nil {
		return err
	}
	if err := u.people.Link(ctx, c.ID, who, time.Now()); err != nil {
		return err
	}
	fmt.Fprintf(u.out, "account %s is %s at %s\n", c.Email, who.Subject, who.Issuer)
	return nil
}

func (u accounts) unlink(ctx context.Context, email string) error {
	c, err := u.people.Credentials(ctx, email)
	if err != nil {
		return err
	}
	n, err := u.people.Unlink(ctx, c.ID, time.Now())
	if err != nil {
		return err
	}
	fmt.Fprintf(u.out, "account %s: %d identities unlinked; signed-in sessions are over\n", c.Email, n)
	return nil
}

func (u accounts) list(ctx context.Context) error {
	all, err := u.people.List(ctx)
	if err != nil {
		return err
	}
	t := tabwriter.NewWriter(u.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "EMAIL\tNAME\tSTATE")
	for _, a := range all {
		state := "active"
		switch {
		case !a.Active():
			state = "disabled " + a.DisabledAt.UTC().Format(time.DateOnly)
		case a.Demo:
			state = "demonstration"
		case a.SiteAdmin:
			state = "administrator"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\n", a.Email, a.Name, state)
	}
	return t.Flush()
}

// choose makes a password, or reads the one that was piped in: a password on the command line would be in everybody's
// process list. It returns the made one, to be shown once.
func (u accounts) choose() (made, hash string, err error) {
	plain := ""
	if u.typed {
		plain, err = bufio.NewReader(io.LimitReader(u.in, 4096)).ReadString('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return "", "", fmt.Errorf("read password: %w", err)
		}
		plain = strings.TrimRight(plain, "\r\n")
	} else {
		made = rand.Text()
		plain = made
	}
	if reason := password.Check(plain); reason != "" {
		return "", "", errors.New(reason)
	}
	hash, err = password.Hash(plain)
	return made, hash, err
}

func (u accounts) show(made string) {
	if made != "" {
		fmt.Fprintf(u.out, "password, shown this once: %s\n", made)
	}
}

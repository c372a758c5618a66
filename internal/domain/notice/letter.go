package notice

import (
	"fmt"
	"strings"
	"time"
)

// Told is the items of one program with the addresses of their pages.
type Told struct {
	Program string
	Lines   []Line
}

// Line is one item of a letter.
type Line struct {
	Item
	Href string // whole address
}

// Letter is the digest of a day in plain text. An empty subject says that there is
// nothing to tell, and that no letter is sent.
func Letter(name, day string, programs []Told, choices string) (subject, body string) {
	n, urgent := 0, 0
	var b strings.Builder
	fmt.Fprintf(&b, "%s,\n\nthis is what the record had for you on %s.\n", name, day)
	for _, p := range programs {
		if len(p.Lines) == 0 {
			continue
		}
		fmt.Fprintf(&b, "\n%s\n", p.Program)
		for _, l := range p.Lines {
			n++
			mark := "-"
			if l.Urgent {
				urgent++
				mark = "!"
			}
			fmt.Fprintf(&b, "%s %s.\n  %s\n", mark, sentence(l.Text), l.Href)
		}
	}
	if n == 0 {
		return "", ""
	}
	fmt.Fprintf(&b, "\nA line with ! presses. The record decides, not this letter: it was true when it was written.\nChoose what you are told: %s\n", choices)
	subject = number(n, "thing", "things") + " for you on " + day
	if urgent > 0 {
		subject += fmt.Sprintf(", %d pressing", urgent)
	}
	return subject, b.String()
}

func sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// MostTries is how often a letter is tried before it is given up.
const MostTries = 10

// Pause is how long a letter waits after so many failed tries: from five minutes,
// doubled each time, at most four hours. Ten tries span about a day.
func Pause(tries int) time.Duration {
	const first, most = 5 * time.Minute, 4 * time.Hour
	d := first
	for range max(0, tries-1) {
		if d *= 2; d >= most {
			return most
		}
	}
	return d
}

package pack

import (
	"fmt"
	"io"
	"strings"
)

// Readme is what the text of a package says.
type Readme struct {
	Title   string
	Lead    []string // paragraphs: what this is, of when, by whom
	Files   [][2]string
	Tables  []Table
	Missing []string // what a reader could look for and is not here, with the reason
}

// WriteReadme writes the text, 100 columns wide at most.
func WriteReadme(w io.Writer, r Readme) error {
	var b strings.Builder
	b.WriteString(r.Title + "\n" + strings.Repeat("=", len([]rune(r.Title))) + "\n\n")
	for _, p := range r.Lead {
		b.WriteString(wrap(p, "", "") + "\n")
	}
	head(&b, "Files")
	for _, f := range r.Files {
		b.WriteString(wrap(f[1], fmt.Sprintf("  %-26s ", f[0]), strings.Repeat(" ", 29)))
	}
	head(&b, "Not in this package")
	if len(r.Missing) == 0 {
		b.WriteString("Nothing that belongs to it is left out.\n")
	}
	for _, m := range r.Missing {
		b.WriteString(wrap(m, "- ", "  "))
	}
	head(&b, "How to check it")
	b.WriteString(howToCheck)
	head(&b, "Tables")
	b.WriteString(wrap("Each table is a file tables/NAME.csv and a sheet of tables.xlsx. CSV is UTF-8 with a byte order mark, separated by commas, with one header row; "+
		"a unit stands in brackets behind the name. A cell without a value is empty. Numbers have every digit, with a point. Times are UTC. Lists and what was typed are JSON. "+
		"A text that a spreadsheet would take for a formula has one apostrophe before it in CSV. Lengths are in mm, forces in N, stresses in MPa; "+
		"x runs from the girder end toward the span and z up from the top of the bottom flange. Columns called typed hold what a person typed, before it became the number. "+
		"Bytes are not repeated in tables: the cell has their SHA-256 and length.", "", ""))
	for _, t := range r.Tables {
		fmt.Fprintf(&b, "\n%s: %s\n", t.Name, t.Words)
		for _, c := range t.Columns {
			kind := c.Type
			if c.Unit != "" {
				kind += ", " + c.Unit
			}
			b.WriteString(wrap(c.Words, fmt.Sprintf("  %-24s %-22s ", c.Name, kind), strings.Repeat(" ", 50)))
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

const howToCheck = `  python3 check.py

The script needs nothing but Python 3 and is short enough to read. To check by other means:

  sha256sum -c MANIFEST.sha256        the list is the one that was written
  sha256sum -c MANIFEST               every file is as it was written

The journal is the history of the record: each entry says who changed what, when, and each row as it
was and as it became. Each line of journal.jsonl is one JSON object:

  seq         number of the entry on this server        prev_hash   hash of the entry before, hex
  at_us       time, microseconds since 1970, UTC        hash        hash of this entry, hex
  at          the same time, to be read                 body        the entry itself: JSON text, exact
  entry_id, program_id, end_id, actor_id, actor, kind   partial     true in a package of one end

The hash of an entry is the SHA-256 over ten parts in this order: prev_hash (32 bytes), seq (8 bytes,
signed, highest byte first), at_us (the same), entry_id, program_id, end_id, actor_id, actor, kind, body
(UTF-8 text; null is no bytes). Each part is preceded by its length in bytes as 8 bytes, unsigned, highest
byte first. Entry 1 follows 32 zero bytes. Where a number is left out, the entry belongs to another
program, or in a package of one end to other ends; "follows" in a body names number and hash of the
entry before in the same program. Nobody can change, add or take out an entry without the last hash
becoming another: keep it, and the SHA-256 of MANIFEST, in a place of their own.
`

func head(b *strings.Builder, title string) {
	b.WriteString("\n" + title + "\n" + strings.Repeat("-", len(title)) + "\n\n")
}

// wrap breaks a text into lines; the first begins with one prefix, the rest with the other.
func wrap(text, first, rest string) string {
	var b strings.Builder
	line := first
	fresh := true
	for _, word := range strings.Fields(text) {
		if !fresh && len([]rune(line))+1+len([]rune(word)) > 100 {
			b.WriteString(strings.TrimRight(line, " ") + "\n")
			line, fresh = rest, true
		}
		if !fresh {
			line += " "
		}
		line, fresh = line+word, false
	}
	b.WriteString(strings.TrimRight(line, " ") + "\n")
	return b.String()
}

package exchange

import "fmt"

// Count is how many of a thing a bridge holds, in words: "1 span", "58 ends".
type Count struct {
	N         int
	One, Many string
}

// String is the count in words.
func (c Count) String() string {
	if c.N == 1 {
		return "1 " + c.One
	}
	return fmt.Sprintf("%d %s", c.N, c.Many)
}

// Counts tells what a bridge holds, in the order of the tables; what it has none
// of is left out.
func Counts(b Bridge) []Count {
	readings, holes := 0, 0
	for _, s := range b.Surveys {
		readings += len(s.Findings.Readings)
		holes += len(s.Findings.Holes)
	}
	var out []Count
	for _, c := range []Count{{len(b.Supports), "support", "supports"}, {len(b.Spans), "span", "spans"}, {len(b.Sections), "section", "sections"},
		{len(b.Ends), "girder end", "girder ends"}, {len(b.Surveys), "survey", "surveys"}, {readings, "reading", "readings"}, {holes, "hole", "holes"}} {
		if c.N > 0 {
			out = append(out, c)
		}
	}
	return out
}

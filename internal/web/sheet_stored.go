package web

import (
	"bytes"
	"encoding/json"
	"fmt"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/sheet"
)

// compare says where the sheet and the stored result differ, in words. They never
// should.
func (e *endReader) compare(parts []computed, digest string) (sheet.Stored, error) {
	var out sheet.Stored
	differs := func(format string, args ...any) { out.Lines = append(out.Lines, fmt.Sprintf(format, args...)) }
	stored := map[string]repair.Result{}
	for _, row := range e.rec.Results {
		stored[row.Subject] = row
	}
	for _, c := range parts {
		row, ok := stored[c.key]
		if !ok {
			differs("%s: nothing is stored", c.words)
			continue
		}
		delete(stored, c.key)
		if row.MethodVersion != string(calc.MethodVersion) {
			differs("%s: stored under version %s of the method, computed now under version %s", c.words, row.MethodVersion, calc.MethodVersion)
		}
		if row.InputDigest != c.ev.Digest {
			differs("%s: the stored result stands on other inputs, %s, than the record has now, %s", c.words, shortDigest(row.InputDigest), shortDigest(c.ev.Digest))
		}
		if row.Capacity != c.ev.Capacity {
			differs("%s: stored capacity %s, computed now %s", c.words, exact(row.Capacity, e.sys), exact(c.ev.Capacity, e.sys))
		}
		if storedVerdict(row.Verdict) != c.ev.Verdict || row.Governing != c.ev.Governing {
			differs("%s: stored as %q by %q, computed now as %q by %q", c.words, row.Verdict, row.Governing, c.ev.Verdict, c.ev.Governing)
		}
		same, err := sameChecks(row.Checks, c.ev.Checks)
		if err != nil {
			return out, err
		}
		if !same {
			differs("%s: the stored checks are not the checks of this sheet", c.words)
		}
	}
	for key := range stored {
		differs("a result is stored for %q, which the record no longer gives", plainWord(key))
	}
	if st := e.state(); st.InputDigest != digest {
		differs("the digest in the list of ends, %s, is not that of this sheet, %s", shortDigest(st.InputDigest), shortDigest(digest))
	}
	out.Agrees = len(out.Lines) == 0
	return out, nil
}

func exact(f units.Force, sys units.System) string {
	return f.Exact(sys) + " " + units.Forces.Label(sys)
}

// sameChecks compares checks in the form in which they are stored. Limits that are
// met are words for the sheet only and are not stored with every check.
func sameChecks(stored []byte, now []calc.Check) (bool, error) {
	var was []calc.Check
	if err := json.Unmarshal(stored, &was); err != nil {
		return false, fmt.Errorf("stored checks: %w", err)
	}
	a, err := json.Marshal(unmetOnly(was))
	if err != nil {
		return false, fmt.Errorf("stored checks: %w", err)
	}
	b, err := json.Marshal(unmetOnly(now))
	if err != nil {
		return false, fmt.Errorf("checks of the sheet: %w", err)
	}
	return bytes.Equal(a, b), nil
}

func unmetOnly(checks []calc.Check) []calc.Check {
	out := make([]calc.Check, len(checks))
	for i, c := range checks {
		var unmet []calc.Limit
		for _, l := range c.Limits {
			if !l.Met {
				unmet = append(unmet, l)
			}
		}
		c.Limits = unmet
		out[i] = c
	}
	return out
}

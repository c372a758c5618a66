package web

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// act does to the form what one of its smaller buttons asks for. It reports false
// for a button that stores.
func (t *surveyTyped) act(do string, sys units.System, k kept) (bool, *fault.Invalid) {
	switch do {
	case "preview":
		return true, nil
	case "add-row":
		if len(t.z) < mostLines && (len(t.z)+1)*len(t.x) <= mostCells {
			t.size(len(t.z)+1, len(t.x))
		}
	case "add-col":
		if len(t.x) < mostLines && len(t.z)*(len(t.x)+1) <= mostCells {
			t.size(len(t.z), len(t.x)+1)
		}
	case "add-hole":
		if len(t.holes) < mostHoles {
			t.holes = append(t.holes, [5]string{})
		}
	case "grid":
		return true, t.layOut(sys, k)
	case "paste":
		return true, t.takeList(sys, k)
	default:
		return false, nil
	}
	return true, nil
}

// entries are the readings of the grid as a list.
func (t *surveyTyped) entries() []pasted {
	var out []pasted
	for row := range t.z {
		for col := range t.x {
			for _, f := range surveyFaces {
				if text := t.cells[f][row][col]; text != "" {
					out = append(out, pasted{face: f, x: t.x[col], z: t.z[row], t: text})
				}
			}
		}
	}
	return out
}

// layOut draws a new grid from first place, pitch and count. Readings that have no
// place on it move to the list.
func (t *surveyTyped) layOut(sys units.System, k kept) *fault.Invalid {
	var bad fault.Invalid
	axis := func(name string) []string {
		first, errF := k.length(t.text["start_"+name], sys)
		step, errS := k.length(t.text["step_"+name], sys)
		n, errN := strconv.Atoi(t.text["count_"+name])
		if errF != nil {
			bad.Add("start_"+name, t.text["start_"+name], "%s", lengthProblem(errF))
		}
		if errS != nil || step <= 0 {
			bad.Add("step_"+name, t.text["step_"+name], "must be a length above 0")
		}
		if errN != nil || n < 1 || n > mostLines {
			bad.Add("count_"+name, t.text["count_"+name], "must be from 1 to %d", mostLines)
		}
		if bad.Err() != nil {
			return nil
		}
		out := make([]string, n)
		for i := range out {
			out[i] = (first + units.Length(i)*step).Exact(sys)
		}
		return out
	}
	xs, zs := axis("x"), axis("z")
	if bad.Err() == nil && len(xs)*len(zs) > mostCells {
		bad.Add("count_x", t.text["count_x"], "a grid holds at most %d places, got %d", mostCells, len(xs)*len(zs))
	}
	if bad.Err() != nil {
		return &bad
	}
	slices.Reverse(zs)
	was := t.entries()
	t.x, t.z = xs, zs
	t.cells = map[string][][]string{}
	t.size(len(zs), len(xs))
	t.put(was, sys, k)
	return nil
}

// takeList moves the readings of the list into the grid, which grows as it must.
func (t *surveyTyped) takeList(sys units.System, k kept) *fault.Invalid {
	number := func(text string) bool { _, err := k.length(text, sys); return err == nil }
	listed, problems := readPaste(t.text["points"], t.text["face"], number)
	var bad fault.Invalid
	for _, p := range problems {
		bad.Add("points", "", "%s", p)
	}
	if len(listed) == 0 && len(problems) == 0 {
		bad.Add("points", "", "paste readings here first: x, z and thickness a line, or a table")
	}
	if bad.Err() != nil {
		return &bad
	}
	all := append(t.entries(), listed...)
	var xs, zs []string
	for _, p := range all {
		xs, zs = append(xs, p.x), append(zs, p.z)
	}
	xs, zs = places(xs, sys, k), places(zs, sys, k)
	slices.Reverse(zs)
	if len(xs) > mostLines || len(zs) > mostLines || len(xs)*len(zs) > mostCells {
		bad.Add("points", "", "these readings lie at %d places along x and %d along z; a grid holds %d of each: leave them in the list, where they count as well", len(xs), len(zs), mostLines)
		return &bad
	}
	t.x, t.z, t.text["points"] = xs, zs, ""
	t.cells = map[string][][]string{}
	t.size(len(zs), len(xs))
	t.put(all, sys, k)
	return nil
}

// places sorts texts of places by value and drops repeats.
func places(texts []string, sys units.System, k kept) []string {
	type place struct {
		v    units.Length
		text string
	}
	var all []place
	for _, s := range texts {
		if v, err := k.length(s, sys); err == nil {
			all = append(all, place{v, s})
		}
	}
	slices.SortStableFunc(all, func(a, b place) int { return cmp.Compare(a.v, b.v) })
	var out []string
	for i, p := range all {
		if i == 0 || p.v != all[i-1].v {
			out = append(out, p.text)
		}
	}
	return out
}

// put sets readings into the grid by their place; those without one there, or
// whose place is taken, go to the list.
func (t *surveyTyped) put(entries []pasted, sys units.System, k kept) {
	find := func(heads []string, text string) int {
		v, err := k.length(text, sys)
		if err != nil {
			return -1
		}
		return slices.IndexFunc(heads, func(h string) bool { x, err := k.length(h, sys); return err == nil && x == v })
	}
	var rest []string
	for _, p := range entries {
		col, row := find(t.x, p.x), find(t.z, p.z)
		if col >= 0 && row >= 0 && t.cells[p.face][row][col] == "" {
			t.cells[p.face][row][col] = p.t
			continue
		}
		rest = append(rest, fmt.Sprintf("%s\t%s\t%s\t%s", p.face, p.x, p.z, p.t))
	}
	if len(rest) > 0 {
		t.text["points"] = strings.TrimLeft(t.text["points"]+"\n"+strings.Join(rest, "\n"), "\n")
	}
}

package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// surveyFaces are the faces of the web in the order of the form.
var surveyFaces = []string{"T", "L", "R"}

// Limits of one form, so that a page stays a page.
const (
	mostLines = 60   // rows, and columns
	mostCells = 1500 // places of the grid
	mostHoles = 100
)

// surveyLimit is the largest form of a survey in bytes.
const surveyLimit = 2 << 20

// surveyTyped is a survey as it stands in the boxes of the form: texts only, so
// that everything goes back as it came.
type surveyTyped struct {
	text  map[string]string // boxes with one value, by name
	x, z  []string
	cells map[string][][]string // by face, row and column
	holes [][5]string
}

// surveyBoxes are the boxes with one value.
var surveyBoxes = []string{"entry", "version", "kind", "method", "gauge", "taken_by", "captured_at", "flange_thickness", "stiffener_thickness", "stiffener_width",
	"web_deviation", "web_detached", "thicker_reason", "note", "points", "face", "start_x", "step_x", "count_x", "start_z", "step_z", "count_z"}

// holeParts are the boxes of a hole.
var holeParts = [5]string{"x", "z", "width", "height", "rim"}

func newTyped(rows, cols int) *surveyTyped {
	t := &surveyTyped{text: map[string]string{"face": "T"}, cells: map[string][][]string{}}
	t.size(rows, cols)
	return t
}

// size gives the grid a number of rows and columns and keeps what is in it.
func (t *surveyTyped) size(rows, cols int) {
	grow := func(list []string, n int) []string {
		for len(list) < n {
			list = append(list, "")
		}
		return list[:n]
	}
	t.x, t.z = grow(t.x, cols), grow(t.z, rows)
	for _, f := range surveyFaces {
		g := t.cells[f]
		for len(g) < rows {
			g = append(g, nil)
		}
		g = g[:rows]
		for i := range g {
			g[i] = grow(g[i], cols)
		}
		t.cells[f] = g
	}
}

// typedSurvey reads the boxes of a form.
func typedSurvey(r *http.Request) (*surveyTyped, error) {
	if err := parseForm(r); err != nil {
		return nil, err
	}
	n := func(name string, most int) (int, error) {
		v, err := strconv.Atoi(r.PostFormValue(name))
		if err != nil || v < 0 || v > most {
			return 0, fault.New(fault.Malformed, "the form does not say how large its grid is: load the page again")
		}
		return v, nil
	}
	cols, err := n("cols", mostLines)
	if err != nil {
		return nil, err
	}
	rows, err := n("rows", mostLines)
	if err != nil {
		return nil, err
	}
	holes, err := n("holes", mostHoles)
	if err != nil {
		return nil, err
	}
	if rows*cols > mostCells {
		return nil, fault.New(fault.Malformed, "a grid holds at most %d places, got %d: give the readings as a list", mostCells, rows*cols)
	}
	t := newTyped(rows, cols)
	for _, name := range surveyBoxes {
		t.text[name] = strings.TrimSpace(r.PostFormValue(name))
	}
	if !strings.Contains("TLR", t.text["face"]) || len(t.text["face"]) != 1 {
		t.text["face"] = "T"
	}
	for c := range cols {
		t.x[c] = strings.TrimSpace(r.PostFormValue(headName("x", c)))
	}
	for row := range rows {
		t.z[row] = strings.TrimSpace(r.PostFormValue(headName("z", row)))
		for _, f := range surveyFaces {
			for c := range cols {
				t.cells[f][row][c] = strings.TrimSpace(r.PostFormValue(cellName(f, row, c)))
			}
		}
	}
	for i := range holes {
		var h [5]string
		for j, part := range holeParts {
			h[j] = strings.TrimSpace(r.PostFormValue(holeName(i, part)))
		}
		t.holes = append(t.holes, h)
	}
	return t, nil
}

func headName(axis string, i int) string        { return axis + "." + strconv.Itoa(i) }
func cellName(face string, row, col int) string { return fmt.Sprintf("%s.%d.%d", face, row, col) }
func holeName(i int, part string) string        { return fmt.Sprintf("hole.%d.%s", i, part) }

// faceWords are the faces in words.
var faceWords = map[string]string{"T": "through", "L": "left face", "R": "right face"}

// label is the name of a box for a reader.
func (t *surveyTyped) label(name string) string {
	parts := strings.Split(name, ".")
	at := func(i int) int { n, _ := strconv.Atoi(parts[i]); return n }
	switch {
	case len(parts) == 2 && parts[0] == "x":
		return fmt.Sprintf("x of column %d", at(1)+1)
	case len(parts) == 2 && parts[0] == "z":
		return fmt.Sprintf("z of row %d", at(1)+1)
	case len(parts) == 3 && parts[0] == "hole":
		return fmt.Sprintf("Hole %d, %s", at(1)+1, parts[2])
	case len(parts) == 3:
		label := fmt.Sprintf("Reading in row %d, column %d, %s", at(1)+1, at(2)+1, faceWords[parts[0]])
		if row, col := at(1), at(2); row < len(t.z) && col < len(t.x) && t.z[row] != "" && t.x[col] != "" {
			label = fmt.Sprintf("Reading at x %s, z %s, %s", t.x[col], t.z[row], faceWords[parts[0]])
		}
		return label
	}
	if l := surveyLabels[name]; l != "" {
		return l
	}
	return name
}

// surveyLabels name the boxes with one value.
var surveyLabels = map[string]string{
	"kind": "Steel", "method": "Method", "gauge": "Gauge", "taken_by": "Taken by", "captured_at": "Taken at",
	"flange_thickness": "Bottom flange thickness left", "stiffener_thickness": "Stiffener thickness left", "stiffener_width": "Stiffener width left",
	"web_deviation": "Web out of plumb", "web_detached": "Web-to-flange joint lost", "thicker_reason": "Reason for readings above the as-new thickness",
	"note": "Note", "points": "Readings as a list or table", "start_x": "First x", "step_x": "Pitch of x", "count_x": "Columns",
	"start_z": "First z", "step_z": "Pitch of z", "count_z": "Rows",
}

// noAccess reports whether a text says that a place could not be read.
func noAccess(text string) bool {
	switch strings.ToLower(strings.TrimSpace(text)) {
	case "na", "n/a", "n.a.", "no access", "x":
		return true
	}
	return false
}

// kept knows the stored values behind the texts of a form that was filled from the
// record: a text that was not touched gives the stored value to the last bit,
// whatever units it was shown in.
type kept map[string]units.Length

// show prints a stored length as it was typed, where that still reads as the
// value, and else exactly. It remembers what it showed.
func (k kept) show(l units.Length, typed string, sys units.System) string {
	text := l.Exact(sys)
	if typed != "" {
		if v, err := units.ParseLength(typed, sys); err == nil && v == l {
			text = typed
		}
	}
	k[text] = l
	return text
}

// length reads a length that a person typed.
func (k kept) length(text string, sys units.System) (units.Length, error) {
	if v, ok := k[text]; ok {
		return v, nil
	}
	return units.ParseLength(text, sys)
}

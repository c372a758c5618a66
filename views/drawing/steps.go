package drawing

import (
	"strconv"
	"strings"
)

// StepBarsData is a chart of how many open ends stand at each step, and what stops
// them there.
type StepBarsData struct {
	ID    string
	Title string // "" for "Open ends by step"
	Steps []StepCount
	Width float64 // pixels; 0 for 660, and beside it a narrow drawing for small screens
	Tall  bool    // rows of 44 pixels instead of 30, for fingers
}

// StepCount counts the ends at a step: free to go on, and blocked by each track.
type StepCount struct {
	Code, Name, Href           string
	Free, Paper, Steel, Access int
}

// Total is the number of ends at the step.
func (s StepCount) Total() int {
	return max(s.Free, 0) + max(s.Paper, 0) + max(s.Steel, 0) + max(s.Access, 0)
}

// Room for the names of steps in pixels.
const (
	stepLabel   = 218.0
	narrowLabel = 138.0
)

type stepsLayout struct {
	id, title, desc string
	width, height   float64
	lines           []segment
	rows            []stepRow
}

type stepRow struct {
	step  StepCount
	hit   box
	said  string
	parts []stepPart
	texts []label
}

type stepPart struct {
	box  box
	kind string // free, paper, steel, access
	text string
}

func laySteps(d StepBarsData) stepsLayout {
	s := stepsLayout{id: ident(d.ID, "steps"), title: d.Title, width: chartRoom(d.Width, chartWidth)}
	if s.title == "" {
		s.title = "Open ends by step"
	}
	tall, most, all := 30.0, 1, 0
	if d.Tall {
		tall = comfortable
	}
	for _, c := range d.Steps {
		most = max(most, c.Total())
		all += c.Total()
	}
	left := stepLabel
	if s.width < narrowBelow {
		left = narrowLabel
	}
	per := (s.width - left - 36) / float64(most)
	var said []string
	for i, c := range d.Steps {
		y := 4 + tall*float64(i)
		r := stepRow{step: c, hit: box{0, y, s.width, tall}}
		code := label{X: 8, Y: y + tall/2 + 4, Text: clip(c.Code, 5), Class: "code"}
		name := label{X: 52, Y: y + tall/2 + 4, Text: clip(c.Name, 28), Class: "lbl"}
		if left == narrowLabel {
			code.Text, name.X, name.Text = "", 4, clip(c.Name, 21)
		}
		r.texts = append(r.texts, code, name)
		x := left
		var words []string
		for _, p := range []struct {
			kind, letter, words string
			count               int
		}{{"free", "", "free to go on", c.Free}, {"paper", "P", "blocked by paper", c.Paper},
			{"steel", "S", "blocked by steel and concrete", c.Steel}, {"access", "A", "blocked by access", c.Access}} {
			if p.count <= 0 {
				continue
			}
			part := stepPart{box: box{x, y + 5, float64(p.count) * per, tall - 10}, kind: p.kind}
			text := strings.TrimSpace(p.letter + " " + strconv.Itoa(p.count))
			if wide(text, 11.5)+6 <= part.box.W {
				part.text = text
			} else if p.letter != "" && wide(p.letter, 11.5)+3 <= part.box.W {
				part.text = p.letter
			}
			x = part.box.right()
			r.parts = append(r.parts, part)
			words = append(words, strconv.Itoa(p.count)+" "+p.words)
		}
		r.texts = append(r.texts, label{X: x + 8, Y: y + tall/2 + 4, Text: strconv.Itoa(c.Total()), Class: "strong"})
		r.said = c.Name + ": " + strconv.Itoa(c.Total())
		if len(words) > 0 {
			r.said += ", " + strings.Join(words, ", ")
		}
		if c.Total() > 0 {
			said = append(said, r.said)
		}
		s.rows = append(s.rows, r)
	}
	s.height = 8 + tall*float64(len(d.Steps))
	s.lines = append(s.lines, segment{left, 4, left, s.height - 4, "axis"})
	s.desc = strconv.Itoa(all) + " open ends. " + strings.Join(said, ". ") + "."
	return s
}

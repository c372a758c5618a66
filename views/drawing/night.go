package drawing

import (
	"fmt"
	"strings"
	"time"
)

// NightData is who works where in one window.
type NightData struct {
	ID                    string
	Starts, Ends          time.Time // of the window, in the zone of the program
	SetupMin, HandoverMin int       // before and after the work
	CutMin                int       // off its end
	Crews                 []NightCrew
}

// NightCrew is a crew with what it does, in order of time.
type NightCrew struct {
	Name string
	Bars []NightBar
}

// NightBar is one end worked by a crew.
type NightBar struct {
	End, Steps string
	From, To   time.Time
}

// layNight computes the chart: a line for each crew, time to scale. The time of set-up and
// hand-back stands apart, so that nobody reads it as time for work.
func layNight(d NightData, width float64) oddsLayout {
	l := oddsLayout{id: ident(d.ID, "night"), title: "Who works where", width: width, note: "Time to scale. Washed ends: set-up and hand-back of the window. The table below holds the same."}
	left := 0.0
	for _, c := range d.Crews {
		left = max(left, wide(c.Name, 12.5)+14)
	}
	left = min(left, width*0.3)
	const top, row = 30.0, 38.0
	foot := top + row*float64(max(1, len(d.Crews)))
	ends := d.Ends.Add(-time.Duration(d.CutMin) * time.Minute)
	total := d.Ends.Sub(d.Starts).Minutes()
	x := func(t time.Time) float64 { return left + t.Sub(d.Starts).Minutes()/total*(width-left-2) }
	wash := func(a, b time.Time, text string) {
		if !b.After(a) {
			return
		}
		r := span(x(a), top, x(b), foot)
		l.shapes = append(l.shapes, outline{D: r.d(), Class: "aside"})
		if r.W > wide(text, 11)+4 {
			l.texts = append(l.texts, label{X: r.X + r.W/2, Y: top - 8, Text: text, Class: "lbl quiet", Anchor: "middle"})
		}
	}
	wash(d.Starts, d.Starts.Add(time.Duration(d.SetupMin)*time.Minute), "set-up")
	wash(ends.Add(-time.Duration(d.HandoverMin)*time.Minute), ends, "hand-back")
	wash(ends, d.Ends, "cut")
	step := time.Hour
	for total/step.Minutes() > (width-left)/52 {
		step *= 2
	}
	for t := d.Starts.Truncate(time.Hour); !t.After(d.Ends); t = t.Add(step) {
		if t.Before(d.Starts) {
			continue
		}
		l.lines = append(l.lines, segment{x(t), top, x(t), foot + 5, "grid"})
		l.texts = append(l.texts, l.keep(x(t), foot+19, t.Format("15:04"), "lbl quiet"))
	}
	var said []string
	for i, c := range d.Crews {
		y := top + row*float64(i)
		l.lines = append(l.lines, segment{0, y + row, width - 2, y + row, "grid"})
		l.texts = append(l.texts, label{X: 0, Y: y + row/2 + 4, Text: short(c.Name, left-10), Class: "strong"})
		for _, b := range c.Bars {
			r := span(x(b.From), y+5, x(b.To), y+row-5)
			l.shapes = append(l.shapes, outline{D: r.d(), Class: "worked"})
			l.texts = append(l.texts, label{X: r.X + 5, Y: y + row/2 + 4, Text: short(b.End+" "+b.Steps, r.W-8), Class: "lbl"})
			said = append(said, fmt.Sprintf("%s, %s to %s: %s, %s", c.Name, b.From.Format("15:04"), b.To.Format("15:04"), b.End, b.Steps))
		}
		if len(c.Bars) == 0 {
			l.texts = append(l.texts, label{X: x(d.Starts.Add(time.Duration(d.SetupMin)*time.Minute)) + 5, Y: y + row/2 + 4, Text: "nothing to do", Class: "lbl quiet"})
			said = append(said, c.Name+": nothing to do")
		}
	}
	l.lines = append(l.lines, segment{left, foot, width - 2, foot, "axis"})
	l.height = foot + 28
	l.desc = strings.Join(said, ". ") + "."
	return l
}

// short leaves as many words of a text as a width holds.
func short(text string, room float64) string {
	if wide(text, 11.5) <= room {
		return text
	}
	words := strings.Fields(text)
	for n := len(words) - 1; n > 0; n-- {
		t := strings.TrimRight(strings.Join(words[:n], " "), ",")
		if n > 1 {
			t += "…"
		}
		if wide(t, 11.5) <= room {
			return t
		}
	}
	return ""
}

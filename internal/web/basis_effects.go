package web

import (
	"strconv"

	"endcast/internal/db"
	"endcast/views/settings"
	"endcast/views/ui"
)

const namesShown = 12

// count says how many of something there are.
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// effectsOf puts what an edit of settings would do in words, the gravest first.
func effectsOf(p db.Preview, head ProgramHead, none string) settings.Effects {
	out := settings.Effects{Known: p.Known, Ends: p.Ends, None: none}
	add := func(state ui.State, ends []string, one, many string) {
		if len(ends) > 0 {
			out.Lines = append(out.Lines, settings.Effect{Mark: ui.Mark{State: state, Text: count(len(ends), one, many)}, Ends: endLinks(head, ends)})
		}
	}
	add(ui.Stop, p.Short, "end falls below what it must carry", "ends fall below what they must carry")
	add(ui.Caution, p.OutOfDate, "approved design goes out of date", "approved designs go out of date")
	add(ui.Good, p.Current, "approved design is up to date again", "approved designs are up to date again")
	add(ui.Good, p.Enough, "end carries what it must again", "ends carry what they must again")
	add(ui.Open, p.Capacities, "end has another capacity", "ends have another capacity")
	add(ui.Wait, p.Stopped, "end that could go on is stopped", "ends that could go on are stopped")
	add(ui.Active, p.Freed, "end that was stopped can go on", "ends that were stopped can go on")
	for _, m := range p.Moves {
		line := settings.MoveLine{From: m.From, To: m.To, Count: strconv.Itoa(len(m.Ends)), Ends: endLinks(head, m.Ends)}
		if line.From == "" {
			line.From = "none: closed"
		}
		if line.To == "" {
			line.To = "none: closed"
		}
		out.Moves = append(out.Moves, line)
	}
	if n := p.Moved(); n > 0 {
		out.Lines = append(out.Lines, settings.Effect{Mark: ui.Mark{State: ui.Caution, Text: count(n, "end changes its next step", "ends change their next step")}})
	}
	return out
}

func endLinks(head ProgramHead, ends []string) settings.Names {
	var out settings.Names
	for i, n := range ends {
		if i == namesShown {
			out.More = len(ends) - namesShown
			break
		}
		out.Links = append(out.Links, settings.Link{Label: n, Href: head.Path("ends", n)})
	}
	return out
}

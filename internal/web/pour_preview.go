package web

import (
	"errors"
	"fmt"
	"net/http"
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/views/casting"
	"endcast/views/ui"

	"github.com/google/uuid"
)

// pourPreview answers a form that is being filled with the checks alone.
func (s *Server) pourPreview(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	f := readPour(c, r.PostForm)
	scope, err := s.pourScope(r, f)
	if err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, casting.ChecksView(s.pourChecks(f, scope)))
}

// pourChecks compares a form, as far as it is filled, with the limits of the design
// basis, and says what the record would refuse. Boxes that are still empty are no
// fault yet.
func (s *Server) pourChecks(f *pourForm, scope *repair.Scope) casting.Checks {
	c := f.c
	ch, bad := f.change(namesOf(scope))
	v := casting.Checks{}
	for _, x := range inRows(bad).Fields {
		if x.Typed != "" {
			v.Faults = append(v.Faults, x)
		}
	}
	stops, warns := 0, 0
	for i, b := range ch.Batches {
		where := fmt.Sprintf("Batch %d", f.batchRow[i])
		list := b.Findings(f.batchRow[i], c.basis)
		if b.Refused {
			where += ", refused"
		} else {
			for _, x := range list {
				switch x.Grade {
				case uhpc.Stop:
					stops++
				case uhpc.Warn:
					warns++
				}
			}
		}
		v.Lines = append(v.Lines, c.findingLines(where, list)...)
		if !b.Refused && b.PlacedAt == nil && !b.MixedAt.IsZero() {
			v.Lines = append(v.Lines, casting.CheckLine{Mark: ui.Mark{State: ui.Void, Text: "note"}, Where: where, Text: "No time of placing yet: the time since mixing is not checked."})
		}
	}
	p := repair.Pour{ID: "form", Number: scope.NextPour}
	gaps := repair.Gaps(p, ch.Rows(p), c.basis)
	warns += len(gaps)
	v.Lines = append(v.Lines, c.findingLines("", gaps)...)
	for _, r := range scope.Ends {
		if poured, ok := ch.VolumeL[r.End.ID]; ok {
			if net, known := designVolume(r); known {
				mark := volumeMark(poured, net, c.basis.Value(basis.VolumeOff))
				line := casting.CheckLine{Mark: ui.Mark{State: ui.Good, Text: "near"}, Where: r.End.Name, Text: fmt.Sprintf("%s went in; the panel of the design takes %s net.", volumeText(poured, c.sys), volumeText(net, c.sys))}
				if mark.Text != "" {
					warns++
					line.Mark = ui.Mark{State: ui.Caution, Text: "warning"}
					line.Text += " That is " + mark.Text + "."
				}
				v.Lines = append(v.Lines, line)
			}
		}
	}
	if len(bad.Fields) == 0 {
		trial := scope.Clone()
		var refused *fault.Invalid
		if err := ch.Apply(trial, repair.Context{Now: c.now, Captured: c.now, NewID: uuid.NewString}); errors.As(err, &refused) {
			for _, x := range f.placed(refused).Fields {
				if x.Field != "ends" {
					v.Faults = append(v.Faults, x)
				}
			}
		} else if err == nil {
			v.Due = c.dueLines(trial.Specimens[len(scope.Specimens):])
		}
	}
	v.Sentence = checksMark(len(v.Faults), stops, warns, len(ch.Batches))
	return v
}

// checksMark says in one line how the form stands.
func checksMark(faults, stops, warns, batches int) ui.Mark {
	switch {
	case faults > 0:
		return ui.Mark{State: ui.Stop, Text: counted(faults, "value cannot be", "values cannot be")}
	case stops > 0:
		return ui.Mark{State: ui.Stop, Text: counted(stops, "value stops placing", "values stop placing")}
	case warns > 0:
		return ui.Mark{State: ui.Caution, Text: counted(warns, "value calls for care", "values call for care")}
	case batches == 0:
		return ui.Mark{State: ui.Open, Text: "no batch is entered yet"}
	}
	return ui.Mark{State: ui.Good, Text: "everything typed lies within the limits"}
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func isUUID(text string) bool {
	_, err := uuid.Parse(text)
	return err == nil && strings.Count(text, "-") == 4
}

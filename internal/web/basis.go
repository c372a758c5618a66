package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/settings"
	"endcast/views/ui"
)

// basisFilters are the ways to narrow the list of settings; the address carries
// the word.
var basisFilters = []struct {
	word, label string
	takes       func(d basis.Definition, set bool) bool
}{
	{"", "All", func(basis.Definition, bool) bool { return true }},
	{"memory", "From memory", unconfirmed},
	{"second-hand", "Read second-hand", tagged(basis.SecondHand)},
	{"proposal", "Our proposal", tagged(basis.Proposal)},
	{"common", "Common practice", tagged(basis.Common)},
	{"read", "Read", tagged(basis.Read)},
	{"program", "Set by this program", func(_ basis.Definition, set bool) bool { return set }},
}

// unconfirmed reports whether a value stands on memory alone: nobody of the
// program has named a source for it.
func unconfirmed(d basis.Definition, set bool) bool { return d.Tag == basis.Memory && !set }

func tagged(tag basis.Tag) func(basis.Definition, bool) bool {
	return func(d basis.Definition, set bool) bool { return d.Tag == tag && !set }
}

// basisList shows every setting of the design basis, those from memory first.
func (s *Server) basisList(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	frame, err := s.store.Frame(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	names, err := s.store.UserNames(r.Context())
	if err != nil {
		return err
	}
	b := basisReader{head: head, frame: frame, sys: s.units(r), zone: zoneOf(frame.Program), who: names}
	v := b.list(r.URL.Query().Get("tag"))
	v.MayEdit, v.Assumptions = s.can(r, authz.EditBasis), head.Path("assumptions")
	if v.Log, err = s.settingsLog(r, b.zone, "basis.edit"); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, settings.Basis(s.page(r, "Design basis"), v))
}

// basisReader turns settings into texts for one reader.
type basisReader struct {
	head  ProgramHead
	frame *repair.Scope
	sys   units.System
	zone  *time.Location
	who   map[string]string
}

func (b basisReader) list(word string) settings.BasisView {
	defs := basis.Definitions()
	at := slices.IndexFunc(basisFilters, func(f struct {
		word, label string
		takes       func(basis.Definition, bool) bool
	}) bool {
		return f.word == word
	})
	at = max(at, 0)
	var v settings.BasisView
	base := b.head.Path("basis")
	for i, f := range basisFilters {
		n := 0
		for _, d := range defs {
			if f.takes(d, b.isSet(d)) {
				n++
			}
		}
		href := base
		if f.word != "" {
			href += "?tag=" + f.word
		}
		if n > 0 || f.word == "" || i == at {
			v.Filters = append(v.Filters, settings.FilterLink{Label: f.label, Href: href, Count: strconv.Itoa(n), Current: i == at})
		}
	}
	unsure := settings.BasisGroup{Name: "From memory, confirmed by nobody in this program", Anchor: "unsure"}
	groups := map[string]int{}
	for _, d := range defs {
		set := b.isSet(d)
		if !basisFilters[at].takes(d, set) {
			continue
		}
		if unconfirmed(d, set) {
			unsure.Rows = append(unsure.Rows, b.row(d))
			continue
		}
		name := sentenceCase(d.Group)
		i, ok := groups[name]
		if !ok {
			i = len(v.Groups)
			groups[name] = i
			v.Groups = append(v.Groups, settings.BasisGroup{Name: name, Anchor: "group-" + strconv.Itoa(i+1)})
		}
		v.Groups[i].Rows = append(v.Groups[i].Rows, b.row(d))
	}
	if n := len(unsure.Rows); n > 0 {
		v.Unsure = &unsure
		v.Unchecked = count(n, "value below was", "values below were") + " written down from memory of the text named, without the text at hand. Before a check that reads one is relied on, somebody compares it with the licensed edition that governs and stores it with that source: open the setting and save it, changed or not."
	}
	return v
}

func (b basisReader) isSet(d basis.Definition) bool {
	_, set := b.frame.Setting(string(d.Key))
	return set
}

func (b basisReader) row(d basis.Definition) settings.BasisRow {
	value := b.frame.Basis().Value(d.Key)
	row := settings.BasisRow{Href: b.head.Path("basis", string(d.Key)), Name: sentenceCase(d.Name), Key: string(d.Key), Value: settingValue(d, value, b.sys),
		Default: settingValue(d, d.Default, b.sys), Range: basisRange(d, b.sys), Source: sentenceCase(d.Source), Tag: tagMark(d.Tag), Differs: value != d.Default}
	if set, ok := b.frame.Setting(string(d.Key)); ok {
		row.Source, row.Tag = set.Source, ui.Mark{State: ui.Active, Text: "set by this program"}
		row.Changed = b.setBy(set)
	}
	return row
}

func (b basisReader) setBy(set repair.BasisSetting) string {
	name := b.who[set.SetBy]
	if name == "" {
		name = "someone no longer listed"
	}
	return name + ", " + set.SetAt.In(b.zone).Format(time.DateOnly)
}

func tagMark(tag basis.Tag) ui.Mark {
	m := ui.Mark{State: ui.Open, Text: string(tag)}
	switch tag {
	case basis.Read:
		m.State = ui.Good
	case basis.SecondHand:
		m.State = ui.Wait
	case basis.Memory:
		m.State = ui.Caution
	}
	return m
}

// kindOf is the kind of quantity that a setting is.
func kindOf(d basis.Definition) units.Kind {
	k, _ := units.KindNamed(string(d.Unit))
	return k
}

func settingValue(d basis.Definition, v float64, sys units.System) string {
	k := kindOf(d)
	if k == units.Numbers {
		return k.Exact(v, sys)
	}
	return k.Working(v, sys)
}

func basisRange(d basis.Definition, sys units.System) string {
	k := kindOf(d)
	low, high := units.Significant(k.Shown(sys, d.Min), 4), units.Significant(k.Shown(sys, d.Max), 4)
	out := low + " to " + high
	if l := k.Label(sys); l != "" {
		out += "\u00a0" + l
	}
	return out
}

// basisTyped reads a value in the reader's units. The default typed back is the
// default to the last bit, whatever the conversion did to it.
func basisTyped(d basis.Definition, text string, sys units.System) (float64, string) {
	k := kindOf(d)
	v, err := k.Parse(text, sys)
	if err != nil {
		return 0, strings.TrimPrefix(err.Error(), "\""+text+"\" ")
	}
	for _, known := range []float64{d.Default, d.Min, d.Max} {
		if k.Exact(known, sys) == k.Exact(v, sys) {
			v = known
		}
	}
	if v < d.Min || v > d.Max {
		return 0, fmt.Sprintf("must lie from %s, got %s", basisRange(d, sys), text)
	}
	return v, ""
}

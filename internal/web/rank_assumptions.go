package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/settings"
	"endcast/views/ui"
)

var rateFields = []string{"rate_low", "rate", "rate_high"}

var rateLabels = map[string]string{"rate_low": "Low", "rate": "Central", "rate_high": "High", "source": "Source"}

// assumptionShow is the page of the rate of loss that a program assumes.
func (s *Server) assumptionShow(w http.ResponseWriter, r *http.Request) error {
	frame, err := s.store.Frame(r.Context(), s.program(r).ID.String())
	if err != nil {
		return err
	}
	return s.assumptionPage(w, r, http.StatusOK, frame, settings.AssumptionsView{Typed: assumptionTyped(frame, s.units(r))})
}

// assumptionTyped is what the form holds at first: the rate as it was typed, where
// that still reads as what is stored.
func assumptionTyped(frame *repair.Scope, sys units.System) map[string]string {
	out := map[string]string{}
	a := frame.Assumed()
	if a == nil {
		return out
	}
	for f, v := range map[string]units.Length{"rate_low": a.RateLow, "rate": a.Rate, "rate_high": a.RateHigh} {
		out[f] = v.Exact(sys)
		if t := a.Typed[f]; t != "" {
			if x, err := units.ParseLength(t, sys); err == nil && x == v {
				out[f] = t
			}
		}
	}
	out["source"] = a.Source
	return out
}

func (s *Server) assumptionPage(w http.ResponseWriter, r *http.Request, status int, frame *repair.Scope, v settings.AssumptionsView) error {
	head, sys := s.program(r), s.units(r)
	v.Action, v.May, v.Unit = head.Path("assumptions"), s.can(r, authz.EditBasis), units.Lengths.Label(sys)
	v.Rank, v.Basis = head.Path("first"), head.Path("basis")
	if v.From == "" {
		v.From = frame.AssumptionsDigest()
	}
	zone := zoneOf(frame.Program)
	v.State = ui.Mark{State: ui.Open, Text: "no rate is assumed"}
	if a := frame.Assumed(); a != nil {
		v.State, v.Stands = ui.Mark{State: ui.Active, Text: "assumed"}, true
		v.Facts = []settings.Fact{{Label: "Low", Value: rateYear(a.RateLow, sys)}, {Label: "Central", Value: rateYear(a.Rate, sys)}, {Label: "High", Value: rateYear(a.RateHigh, sys)},
			{Label: "Set by", Value: a.SetByName + ", " + a.SetAt.In(zone).Format(time.DateOnly)}, {Label: "Source", Value: a.Source, Wide: true}}
	} else if len(frame.Assumptions) > 0 {
		a := frame.Assumptions[0]
		v.State = ui.Mark{State: ui.Void, Text: "withdrawn"}
		v.Facts = []settings.Fact{{Label: "Withdrawn by", Value: a.SetByName + ", " + a.SetAt.In(zone).Format(time.DateOnly)}, {Label: "Why", Value: a.Source, Wide: true}}
	}
	var err error
	if v.Log, err = s.settingsLog(r, zone, repair.EditAssumptions{}.Kind()); err != nil {
		return err
	}
	way := []ui.Crumb{{Label: "What to repair first", Href: v.Rank}}
	return s.render(w, r, status, settings.Assumptions(s.page(r, "Assumed rate of loss", way...), v))
}

// rateYear prints a loss of thickness a year with the figures that a small one needs.
func rateYear(v units.Length, sys units.System) string {
	return units.Significant(units.Lengths.Shown(sys, float64(v)), 3) + "\u00a0" + units.Lengths.Label(sys) + " a year"
}

// assumptionSubmit stores an assumed rate, or withdraws it.
func (s *Server) assumptionSubmit(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	typed := typedIn(r, append([]string{"source", "why"}, rateFields...)...)
	change, err := assumptionOf(typed, r.PostFormValue("do") == "withdraw", s.units(r))
	change.From = r.PostFormValue("from")
	if err == nil {
		_, err = s.editSettings(r, time.Time{}, change)
	}
	if err == nil {
		said := "The rate of loss is stored. Every end was recomputed."
		if change.Withdraw {
			said = "The rate of loss is withdrawn. Every end was recomputed."
		}
		s.flash(r, ui.Done, said)
		return seeOther(w, r, s.program(r).Path("assumptions"))
	}
	frame, ferr := s.store.Frame(r.Context(), s.program(r).ID.String())
	if ferr != nil {
		return ferr
	}
	v := settings.AssumptionsView{Typed: typed, Withdraws: change.Withdraw}
	if change.Withdraw { // the other form keeps what is stored
		v.Typed = assumptionTyped(frame, s.units(r))
		v.Typed["why"] = typed["why"]
	}
	if fault.KindOf(err) == fault.Conflict {
		v.Clash = assumptionClash(typed, assumptionTyped(frame, s.units(r)), change.Withdraw)
		return s.assumptionPage(w, r, http.StatusConflict, frame, v)
	}
	form, status, ok := refused(r, err)
	if !ok {
		return err
	}
	v.Form = form
	v.From = change.From
	if change.Withdraw && v.Bad != nil { // its reason has a field of its own name
		bad := *v.Bad
		bad.Fields = append(bad.Fields[:0:0], bad.Fields...)
		for i := range bad.Fields {
			if bad.Fields[i].Field == "source" {
				bad.Fields[i].Field = "why"
			}
		}
		v.Bad = &bad
	}
	return s.assumptionPage(w, r, status, frame, v)
}

// assumptionOf reads the form and notes every value that cannot be read.
func assumptionOf(typed map[string]string, withdraw bool, sys units.System) (repair.EditAssumptions, error) {
	if withdraw {
		return repair.EditAssumptions{Withdraw: true, Source: typed["why"]}, nil
	}
	out := repair.EditAssumptions{Source: typed["source"], Typed: repair.Typed{}}
	var bad fault.Invalid
	for f, into := range map[string]*units.Length{"rate_low": &out.RateLow, "rate": &out.Rate, "rate_high": &out.RateHigh} {
		v, err := units.ParseLength(typed[f], sys)
		if err != nil {
			bad.Add(f, typed[f], "%s", strings.TrimPrefix(err.Error(), "\""+typed[f]+"\" "))
			continue
		}
		*into, out.Typed[f] = v, typed[f]
	}
	if out.Source == "" && bad.Err() != nil {
		bad.Add("source", "", "say where the rate comes from, or why it is withdrawn")
	}
	return out, bad.Err()
}

func assumptionClash(yours, stored map[string]string, withdraw bool) *settings.Clash {
	out := &settings.Clash{Text: "Nothing of yours was stored yet. Saving again puts it over what is stored now."}
	if withdraw {
		out.Text = "Nothing was withdrawn yet: look at the rate that stands now first."
		return out
	}
	for _, f := range append(rateFields[:len(rateFields):len(rateFields)], "source") {
		if yours[f] != stored[f] {
			out.Rows = append(out.Rows, settings.Beside{Label: rateLabels[f], Yours: orDash(yours[f]), Stored: orDash(stored[f])})
		}
	}
	return out
}

// assumptionInWords says what one entry of the journal did to the assumed rate.
func assumptionInWords(c db.SettingChange, sys units.System) string {
	var ch repair.EditAssumptions
	if json.Unmarshal(c.Change, &ch) != nil {
		return c.Kind
	}
	if ch.Withdraw {
		return "Withdrew the rate of loss: " + ch.Source
	}
	return fmt.Sprintf("Rate of loss: low %s, central %s, high %s. Source: %s", rateYear(ch.RateLow, sys), rateYear(ch.Rate, sys), rateYear(ch.RateHigh, sys), ch.Source)
}

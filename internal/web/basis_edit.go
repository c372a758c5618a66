package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/views/settings"
	"endcast/views/ui"
)

// openSetting finds the setting of the address.
func (s *Server) openSetting(r *http.Request) (basisReader, basis.Definition, error) {
	d, ok := basis.Lookup(basis.Key(chi.URLParam(r, "key")))
	if !ok {
		return basisReader{}, d, fault.New(fault.NotFound, "the design basis has no setting of that name")
	}
	frame, err := s.store.Frame(r.Context(), s.program(r).ID.String())
	if err != nil {
		return basisReader{}, d, err
	}
	names, err := s.store.UserNames(r.Context())
	return basisReader{head: s.program(r), frame: frame, sys: s.units(r), zone: zoneOf(frame.Program), who: names}, d, err
}

// basisShow is the page of one setting.
func (s *Server) basisShow(w http.ResponseWriter, r *http.Request) error {
	b, d, err := s.openSetting(r)
	if err != nil {
		return err
	}
	return s.settingPage(w, r, http.StatusOK, b, d, settings.SettingView{Typed: b.typed(d)})
}

// typed is what the form of a setting holds at first: the value as it was typed,
// where that still reads as the value stored.
func (b basisReader) typed(d basis.Definition) map[string]string {
	value := b.frame.Basis().Value(d.Key)
	text := kindOf(d).Exact(value, b.sys)
	if set, ok := b.frame.Setting(string(d.Key)); ok && set.Typed != "" {
		if v, why := basisTyped(d, set.Typed, b.sys); why == "" && v == set.Value {
			text = set.Typed
		}
	}
	return map[string]string{"value": text, "source": ""}
}

func (s *Server) settingPage(w http.ResponseWriter, r *http.Request, status int, b basisReader, d basis.Definition, v settings.SettingView) error {
	row := b.row(d)
	v.Title, v.Tag, v.Unit = row.Name, row.Tag, kindOf(d).Label(b.sys)
	v.May, v.Action = s.can(r, authz.EditBasis), row.Href
	if v.From == "" {
		v.From = b.frame.SettingDigest(string(d.Key))
	}
	v.Facts = []settings.Fact{{Label: "Value", Value: row.Value}, {Label: "Default", Value: row.Default}, {Label: "Range", Value: row.Range}}
	if row.Changed != "" {
		v.Facts = append(v.Facts, settings.Fact{Label: "Changed by", Value: row.Changed}, settings.Fact{Label: "Source of the value", Value: row.Source, Wide: true},
			settings.Fact{Label: "Source of the default", Value: sentenceCase(d.Source) + " (" + string(d.Tag) + ")", Wide: true})
	} else {
		v.Facts = append(v.Facts, settings.Fact{Label: "Source", Value: row.Source, Wide: true})
	}
	if unconfirmed(d, row.Changed != "") {
		v.Caution = "This value was written down from memory of the text named. Compare it with the licensed edition that governs this bridge, then save it here with that source, changed or not."
	}
	list, err := s.store.SettingChanges(r.Context(), b.head.ID.String(), []string{"basis.edit"}, 1000)
	if err != nil {
		return err
	}
	list = slices.DeleteFunc(list, func(c db.SettingChange) bool {
		var ch repair.EditBasis
		return json.Unmarshal(c.Change, &ch) != nil || ch.Key != string(d.Key)
	})
	v.Log = logOf(list, b.sys, b.zone)
	return s.render(w, r, status, settings.Setting(s.page(r, row.Name, ui.Crumb{Label: "Design basis", Href: b.head.Path("basis")}), v))
}

// basisSubmit shows what a change of one setting does to the ends, and stores it
// when exactly that was shown.
func (s *Server) basisSubmit(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	b, d, err := s.openSetting(r)
	if err != nil {
		return err
	}
	v := settings.SettingView{Typed: typedIn(r, "value", "source")}
	v.Entry, v.From = r.PostFormValue("entry"), r.PostFormValue("from")
	change := repair.EditBasis{Key: string(d.Key), Typed: v.Typed["value"], Source: v.Typed["source"], From: v.From}
	var why string
	if change.Value, why = basisTyped(d, change.Typed, b.sys); why != "" {
		var bad fault.Invalid
		bad.Add("value", change.Typed, "%s", why)
		if change.Source == "" {
			bad.Add("source", "", "name the document, edition and clause that the value comes from")
		}
		v.Bad = &bad
		return s.settingPage(w, r, http.StatusUnprocessableEntity, b, d, v)
	}
	shown := calc.Digest([]any{change.Key, change.Value, change.Source})
	if r.PostFormValue("do") == "save" && r.PostFormValue("previewed") == shown {
		if _, err = s.editSettings(r, time.Time{}, change); err == nil {
			s.flash(r, ui.Done, fmt.Sprintf("%s is %s now. Every end was recomputed.", sentenceCase(d.Name), settingValue(d, change.Value, b.sys)))
			return seeOther(w, r, b.head.Path("basis"))
		}
		return s.basisRefused(w, r, b, d, v, err)
	}
	p, err := s.store.Preview(r.Context(), b.head.ID.String(), s.actor(r), change)
	if err != nil {
		return s.basisRefused(w, r, b, d, v, err)
	}
	if r.PostFormValue("do") == "save" {
		v.Notice = "The value or its source changed since you saw what it does. Nothing is stored yet: look again, then save."
	}
	e := effectsOf(p, b.head, "No end changes by it: no design goes out of date and no capacity moves.")
	v.Effects, v.Previewed = &e, shown
	v.Change = fmt.Sprintf("From %s to %s.", settingValue(d, b.frame.Basis().Value(d.Key), b.sys), settingValue(d, change.Value, b.sys))
	return s.settingPage(w, r, http.StatusOK, b, d, v)
}

func (s *Server) basisRefused(w http.ResponseWriter, r *http.Request, b basisReader, d basis.Definition, v settings.SettingView, err error) error {
	if fault.KindOf(err) == fault.Conflict {
		now := b.typed(d)
		source := sentenceCase(d.Source)
		if set, ok := b.frame.Setting(string(d.Key)); ok {
			source = set.Source
		}
		v.From, v.Entry = "", ""
		v.Clash = &settings.Clash{Text: "Nothing of yours was stored yet. The form holds what you typed; look at what it changes now, then save it over what is stored.",
			Rows: []settings.Beside{{Label: "Value", Yours: v.Typed["value"], Stored: now["value"]}, {Label: "Source", Yours: orDash(v.Typed["source"]), Stored: source}}}
		return s.settingPage(w, r, http.StatusConflict, b, d, v)
	}
	if form, status, ok := refused(r, err); ok {
		v.Bad, v.Notice = form.Bad, form.Notice
		return s.settingPage(w, r, status, b, d, v)
	}
	return err
}

package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

var mockupKinds = []string{"mockup.record", "mockup.correct", "mockup.decide", "mockup.roles", "mockup.accept", "mockup.withdraw"}

// mockupList shows the mock-ups of a program and who must accept them.
func (s *Server) mockupList(w http.ResponseWriter, r *http.Request) error {
	return s.mockupListPage(w, r, http.StatusOK, mockupSent{})
}

// mockupSent is what came from a form of the mock-up pages and was not taken.
type mockupSent struct {
	act     string
	form    *pourForm
	bad     *fault.Invalid
	refused string
}

// of is what was sent with one act, nothing for another.
func (x mockupSent) of(act string) (entry string, bad *fault.Invalid, refused string) {
	if x.act != act || x.form == nil {
		return "", nil, ""
	}
	return x.form.get("entry"), x.bad, x.refused
}

func (x mockupSent) text(act, field string) string {
	if x.act != act || x.form == nil {
		return ""
	}
	return x.form.get(field)
}

func (s *Server) mockupListPage(w http.ResponseWriter, r *http.Request, status int, sent mockupSent) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	p := c.frame.Program
	v := casting.MockupList{Zone: c.zoneNote(), Deciders: "In this program " + roleWordsAnd(c.frame.MockupRoles()) + " must each accept it, no two of them the same person."}
	v.State, v.Says = c.mockupStanding()
	if p.MockupAcceptedAt != nil {
		v.By = "Accepted " + c.day(*p.MockupAcceptedAt) + " by " + p.MockupAcceptedBy + "."
	}
	v.Note = p.MockupNote
	if s.can(r, authz.RecordMockup) {
		v.New = c.head.Path("mockups", "new")
	}
	for _, m := range newestFirst(c.frame.Mockups, func(m repair.Mockup) time.Time { return m.CastAt }) {
		v.Rows = append(v.Rows, c.mockupRow(m))
	}
	if p.MockupAcceptedAt != nil && s.can(r, authz.AcceptMockup) {
		v.Withdraw = c.withdrawForm(sent)
	} else if sent.act == "withdraw" || sent.act == "accept" {
		s.flash(r, ui.Failed, ui.Sentence(sent.refused))
	}
	if s.can(r, authz.EditProgram) {
		roles := &casting.MockupRoles{Action: c.head.Path("mockups", "roles")}
		roles.Entry, roles.Bad, _ = sent.of("roles")
		for _, role := range authz.Roles() {
			if role != authz.Manager {
				on := slices.Contains(c.frame.MockupRoles(), role)
				if roles.Bad != nil {
					on = slices.Contains(sent.form.values["role"], string(role))
				}
				roles.Choices = append(roles.Choices, casting.EndChoice{ID: string(role), Name: sentenceCase(sequence.RoleWords(role)), On: on})
			}
		}
		v.Roles = roles
	}
	if v.Log, err = s.settingsLog(r, c.zone, mockupKinds...); err != nil {
		return err
	}
	return s.render(w, r, status, casting.MockupListPage(s.page(r, "Mock-ups", ui.Crumb{Label: "Bridge", Href: c.head.Path()}), v))
}

func (c *castReader) withdrawForm(sent mockupSent) *casting.MockupForm {
	f := &casting.MockupForm{Action: c.head.Path("program", "mockup")}
	f.Entry, f.Bad, f.Refused = sent.of("withdraw")
	f.Text = ui.Field{Name: "reason", Label: "Why it no longer holds", Rows: 3, Value: sent.text("withdraw", "reason"), Hint: "No casting is released until another mock-up is accepted."}.With(f.Bad)
	return f
}

// mockupStanding is where the acceptance of a mock-up stands in the program.
func (c *castReader) mockupStanding() (ui.Mark, string) {
	if c.frame.Program.MockupAcceptedAt != nil {
		return ui.Mark{State: ui.Good, Text: "accepted"}, ""
	}
	_, text := c.frame.MockupStanding()
	return ui.Mark{State: ui.Wait, Text: "not accepted: no end is released for casting where the sequence asks for it"}, ui.Sentence(text)
}

func (c *castReader) mockupRow(m repair.Mockup) casting.MockupRow {
	row := casting.MockupRow{Number: strconv.Itoa(m.Number), Href: c.head.Path("mockups", strconv.Itoa(m.Number)), Cast: c.day(m.CastAt), StandsFor: m.StandsFor, Size: c.mockupSize(m),
		Sections: strconv.Itoa(m.SectionsCut), State: mockupMark(m.State), Lacks: strings.Join(c.frame.MockupLacks(m), "; ")}
	for _, o := range c.frame.MockupOpinions(m) {
		text := sequence.RoleWords(o.Role) + ": not decided"
		if o.Decision != nil {
			text = sequence.RoleWords(o.Role) + ": " + plainWord(o.Decision.Decision) + " by " + o.Decision.ByName
			if !o.Counts {
				text += ", on an earlier record"
			}
		}
		row.Decided = append(row.Decided, text)
	}
	return row
}

func (c *castReader) mockupSize(m repair.Mockup) string {
	parts := []string{}
	for _, l := range []*units.Length{m.Width, m.Height, m.Thickness} {
		if l == nil {
			return "–"
		}
		parts = append(parts, l.Format(c.sys, -1))
	}
	return strings.Join(parts, " × ")
}

func mockupMark(state string) ui.Mark {
	switch state {
	case repair.MockupAccepted:
		return ui.Mark{State: ui.Good, Text: "accepted"}
	case repair.MockupNotAccepted:
		return ui.Mark{State: ui.Stop, Text: "not accepted"}
	case repair.MockupWithdrawn:
		return ui.Mark{State: ui.Void, Text: "withdrawn"}
	}
	return ui.Mark{State: ui.Wait, Text: "waits for acceptance"}
}

func roleWordsAnd(roles []sequence.Role) string {
	words := make([]string, len(roles))
	for i, r := range roles {
		words[i] = sequence.RoleWords(r)
	}
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// openMockup loads the mock-up of the address.
func (s *Server) openMockup(r *http.Request) (*castReader, repair.Mockup, error) {
	c, err := s.openCastings(r)
	if err != nil {
		return nil, repair.Mockup{}, err
	}
	number, err := strconv.Atoi(chi.URLParam(r, "mockup"))
	if err == nil {
		for _, m := range c.frame.Mockups {
			if m.Number == number {
				return c, m, nil
			}
		}
	}
	return nil, repair.Mockup{}, fault.New(fault.NotFound, "this program has no such mock-up")
}

// mockupEdit sends a change of a mock-up through the door, under the entry of its form.
func (s *Server) mockupEdit(r *http.Request, captured time.Time, ch repair.Change) (db.Receipt, error) {
	return s.edit(r, nil, captured, ch)
}

// mockupRolesSet names the roles that must accept a mock-up.
func (s *Server) mockupRolesSet(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	_, err := s.mockupEdit(r, time.Time{}, repair.SetMockupRoles{Roles: r.PostForm["role"]})
	back, err := refusal(err)
	if err != nil {
		return err
	}
	if back != nil {
		return s.mockupListPage(w, r, http.StatusUnprocessableEntity, mockupSent{act: "roles", form: &pourForm{values: r.PostForm}, bad: back.fields, refused: back.text})
	}
	s.flash(r, ui.Done, fmt.Sprintf("A mock-up is accepted by %s.", roleWordsAnd(asRoles(r.PostForm["role"]))))
	return seeOther(w, r, s.program(r).Path("mockups"))
}

func asRoles(names []string) []sequence.Role {
	out := make([]sequence.Role, len(names))
	for i, n := range names {
		out[i] = sequence.Role(n)
	}
	return out
}

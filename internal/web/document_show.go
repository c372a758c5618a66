package web

import (
	"fmt"
	"net/http"
	"net/url"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/views/paper"
	"endcast/views/ui"
)

// documentShow is the page of one document.
func (s *Server) documentShow(w http.ResponseWriter, r *http.Request) error {
	p, err := s.openPaper(r)
	if err != nil {
		return err
	}
	return s.documentPage(w, r, http.StatusOK, p, signSent{})
}

// signSent is a signature that was refused, as it was sent.
type signSent struct {
	entry, meaning string
	bad            *fault.Invalid
	problem        string
}

// programZone is the time zone that the program of the request works in.
func (s *Server) programZone(r *http.Request) (*time.Location, error) {
	p, err := s.store.Program(r.Context(), s.program(r).ID.String())
	if err != nil {
		return nil, err
	}
	return zoneOf(p), nil
}

func (s *Server) documentPage(w http.ResponseWriter, r *http.Request, status int, p db.Paper, sent signSent) error {
	head, number := s.program(r), numberOf(p.Number)
	moved, err := s.movedPapers(r.Context(), head.ID.String(), []db.Paper{p})
	if err != nil {
		return err
	}
	zone, err := s.programZone(r)
	if err != nil {
		return err
	}
	when := func(t time.Time) string { return t.In(zone).Format("2006-01-02 15:04") }
	at := func(part string) string { return head.Path("documents", number, part) }
	v := paper.Show{Title: p.Title, Number: number, State: paperMark(p, moved[p.ID]), File: at("file"), All: at("all.zip"), KeyHref: head.Path("documents", "key"), ListHref: head.Path("documents"),
		Zone: "Times are of " + zone.String() + ".", Check: checkLines(p)}
	if p.End != "" {
		v.ListHref = head.Path("ends", p.End, "documents")
	}
	if moved[p.ID] {
		v.Moved = "The record that it was made from has moved on since. The document stays as it is, byte for byte, and says what was known then; for what is known now make a new one."
	}
	for _, g := range p.Signatures {
		v.Signatures = append(v.Signatures, paper.Signature{Meaning: repair.MeaningWords(g.Meaning), Sentence: repair.MeaningSentence(g.Meaning), By: g.ByName,
			Role: sequence.RoleWords(sequence.Role(g.ByRole)), When: when(g.At), Key: shortDigest(g.KeyID)})
	}
	v.Facts = []paper.Fact{{Label: "Kind", Value: repair.PaperWords(p.Kind)}, {Label: "Made", Value: when(p.MadeAt), Note: p.MadeByName + ", " + sequence.RoleWords(sequence.Role(p.MadeByRole))},
		{Label: "Pages", Value: numberOf(p.Pages)}, {Label: "Size", Value: sizeWords(p.Size), Note: fmt.Sprintf("%d bytes", p.Size)},
		{Label: "SHA-256 of the file", Value: p.SHA256},
		{Label: "Made from the record with the digest", Value: p.Record}, {Label: "Method", Value: "version " + p.MethodVersion},
		{Label: "Last entry of the journal in it", Value: numberOf(int(p.JournalSeq)), Note: p.JournalHash}}
	s.signForm(r, p, moved[p.ID], sent, &v)
	way := []ui.Crumb{{Label: "Bridge", Href: head.Path()}}
	if p.End != "" {
		way = append(way, ui.Crumb{Label: p.End, Href: head.Path("ends", p.End)}, ui.Crumb{Label: "Documents", Href: v.ListHref})
	} else {
		way = append(way, ui.Crumb{Label: "Documents", Href: v.ListHref})
	}
	return s.render(w, r, status, paper.ShowPage(s.page(r, "Document "+number, way...), v))
}

// signForm offers a signature to who may give one, or says why not.
func (s *Server) signForm(r *http.Request, p db.Paper, moved bool, sent signSent, v *paper.Show) {
	who := s.actor(r)
	mine := repair.Meanings(p.Kind, who.Role)
	if !s.can(r, authz.SignDocument) || len(mine) == 0 {
		v.Why = "As " + sequence.RoleWords(who.Role) + " you sign no such document."
		return
	}
	for _, g := range p.Signatures {
		if g.ByUser == who.ID {
			v.Why = "You signed it as " + repair.MeaningWords(g.Meaning) + ". Whoever checks or approves it is another person."
			return
		}
	}
	if moved && sent.problem == "" {
		v.Why = "It is out of date and takes no signature any more."
		return
	}
	f := paper.SignForm{Action: s.program(r).Path("documents", numberOf(p.Number), "sign"), Entry: sent.entry, SHA: p.SHA256, Short: shortDigest(p.SHA256), Bad: sent.bad, Problem: sent.problem,
		Who: who.Name + ", " + sequence.RoleWords(who.Role), Meaning: ui.Field{Name: "meaning", Label: "I sign it as", Value: sent.meaning}}
	for _, m := range mine {
		f.Meaning.Options = append(f.Meaning.Options, ui.Option{Value: m, Label: repair.MeaningWords(m)})
		f.Sentences = append(f.Sentences, paper.Fact{Label: sentenceCase(repair.MeaningWords(m)), Value: repair.MeaningSentence(m)})
	}
	f.Meaning = f.Meaning.With(sent.bad)
	if s.cfg.SignOn != nil {
		visit := visitOf(r.Context())
		byService, err := s.signedOn(r.Context(), visit.user.ID, visit.session)
		if err != nil {
			s.log.ErrorContext(r.Context(), "way of the session", "error", err) // the password still signs
		}
		f.SignOn, f.Confirmed = s.signOnName(), s.confirmed(r.Context(), false)
		if byService {
			here := s.program(r).Path("documents", numberOf(p.Number))
			f.Again = signOnPath + "?" + url.Values{"again": {"1"}, "next": {here}}.Encode()
		}
	}
	v.Sign = &f
}

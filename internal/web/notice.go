package web

import (
	"context"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/notice"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/uhpc"
	view "endcast/views/notice"
	"endcast/views/ui"
)

// mostNamed is how many ends one notice names.
const mostNamed = 5

// noticesShow is what this program has for the person who asks.
func (s *Server) noticesShow(w http.ResponseWriter, r *http.Request) error {
	ctx, v, head := r.Context(), visitOf(r.Context()), s.program(r)
	choice, err := s.people.NoticeChoice(ctx, v.user.ID)
	if err != nil {
		return err
	}
	list, err := s.noticesOf(ctx, head, v.person, choice.App)
	if err != nil {
		return err
	}
	page := view.Page{Choices: "/account#notices"}
	for _, i := range list {
		row := view.Row{Text: ui.Sentence(i.Text), About: sentenceCase(i.Kind.Words()), Href: noticePath(head, i), Mark: ui.Mark{State: ui.Open, Text: "to know"}}
		if i.Urgent {
			row.Mark = ui.Mark{State: ui.Caution, Text: "presses"}
		}
		page.Rows = append(page.Rows, row)
	}
	for _, k := range notice.Kinds() {
		if !slices.Contains(choice.App, k) {
			page.Muted = append(page.Muted, k.Words())
		}
	}
	return s.render(w, r, http.StatusOK, view.Show(s.page(r, "Notices", ui.Crumb{Label: "Bridge", Href: head.Path()}), page))
}

// noticePath is the address of the page on which an item is looked into.
func noticePath(head ProgramHead, i notice.Item) string {
	path := head.Path(string(i.Page))
	if i.Page == notice.PageEnds {
		path += "?" + url.Values{"show": {"open"}, "reason": {i.Reason}, "order": {"oldest"}}.Encode()
	}
	return path
}

// noticesOf is what a program has for a person of the subjects chosen.
func (s *Server) noticesOf(ctx context.Context, head ProgramHead, person authz.Person, chosen []notice.Kind) ([]notice.Item, error) {
	if len(chosen) == 0 {
		return nil, nil
	}
	frame, err := s.store.Frame(ctx, head.ID.String())
	if err != nil {
		return nil, err
	}
	c := &castReader{head: head, frame: frame, basis: frame.Basis(), sys: head.Units, zone: zoneOf(frame.Program), now: s.store.Today(frame.Program)}
	role := person.Roles[head.ID]
	f := notice.Facts{Role: sequence.RoleWords(role), Decides: authz.Can(person, head.ID, authz.ReviewDesign)}
	for _, read := range []struct {
		kind notice.Kind
		do   func(context.Context, *castReader, authz.Role, *notice.Facts) error
	}{{notice.Waiting, s.waitsOf}, {notice.Outdated, s.outdatedOf}, {notice.Breaks, s.breaksOf}, {notice.Windows, s.windowsOf}} {
		if slices.Contains(chosen, read.kind) {
			if err := read.do(ctx, c, role, &f); err != nil {
				return nil, err
			}
		}
	}
	return notice.List(f, chosen), nil
}

func (s *Server) waitsOf(ctx context.Context, c *castReader, role authz.Role, f *notice.Facts) error {
	id := c.head.ID.String()
	_, reasons, err := s.store.Tallies(ctx, id)
	if err != nil {
		return err
	}
	for _, t := range reasons {
		if t.Key == "" || t.Actor == "" || sequence.Role(t.Actor) != role {
			continue
		}
		w := notice.Waits{Words: sequence.Reason(t.Key).Words(), Reason: t.Key, Count: t.Count}
		if t.Oldest != nil {
			w.First, w.Days = t.First, max(0, int(c.now.Sub(*t.Oldest).Hours()/24))
		}
		f.Waits = append(f.Waits, w)
	}
	if !f.Decides {
		return nil
	}
	list, err := s.store.Reviews(ctx, id, c.now, repair.ReviewLimitsFrom(c.basis), 1, 1)
	f.Reviews = list.Total
	return err
}

func (s *Server) outdatedOf(ctx context.Context, c *castReader, _ authz.Role, f *notice.Facts) error {
	list, err := s.store.ListEnds(ctx, c.head.ID.String(), db.ListFilter{OutOfDate: true, Open: true}, "oldest", 1, mostNamed)
	if err != nil {
		return err
	}
	f.EndsAll = list.Total
	for _, st := range list.Rows {
		f.Ends = append(f.Ends, st.Name)
	}
	return nil
}

func (s *Server) breaksOf(ctx context.Context, c *castReader, _ authz.Role, f *notice.Facts) error {
	list, err := s.store.Laboratory(ctx, c.head.ID.String(), c.now)
	if err != nil {
		return err
	}
	l := labReader{castReader: c, list: list}
	for _, set := range l.sets() {
		switch set.due.State {
		case uhpc.Overdue:
			f.Late += len(set.rows)
		case uhpc.DueNow:
			f.Due += len(set.rows)
		}
	}
	return nil
}

func (s *Server) windowsOf(ctx context.Context, c *castReader, _ authz.Role, f *notice.Facts) error {
	shifts, err := s.store.Shifts(ctx, c.head.ID.String())
	if err != nil {
		return err
	}
	for _, w := range oldestFirst(c.frame.Windows) {
		if w.State == "lost" || w.State == "used" || !w.EndsAt.After(c.now) || w.StartsAt.Sub(c.now) > notice.Soon {
			continue
		}
		x := notice.Window{Words: sentenceCase(plainWord(w.Kind)) + ", " + c.day(w.StartsAt) + " to " + c.clock(w.EndsAt, w.StartsAt), In: w.StartsAt.Sub(c.now), State: w.State, Unsaid: shifts.Unconfirmed(w)}
		var chosen []string
		for _, ch := range shifts.Choices {
			if ch.WindowID == w.ID && ch.CrewID != nil && ch.WithdrawnAt == nil {
				chosen = append(chosen, ch.EndID)
			}
		}
		if x.Blocked, err = s.store.Stopped(ctx, c.head.ID.String(), chosen); err != nil {
			return err
		}
		f.Windows = append(f.Windows, x)
	}
	return nil
}

// accountNotices stores what a person wants to be told of.
func (s *Server) accountNotices(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	var c db.NoticeChoice
	for name, into := range map[string]*[]notice.Kind{"app": &c.App, "mail": &c.Mail} {
		for _, k := range notice.Kinds() {
			if slices.Contains(r.PostForm[name], string(k)) {
				*into = append(*into, k)
			}
		}
		for _, sent := range r.PostForm[name] {
			if !notice.Kind(sent).Known() {
				return fault.New(fault.Malformed, "there is no notice %q", sent)
			}
		}
	}
	if err := s.people.ChooseNotices(r.Context(), s.user(r).ID, c, s.now()); err != nil {
		return err
	}
	s.flash(r, ui.Done, "What you are told of is stored.")
	return seeOther(w, r, "/account#notices")
}

// accountChoices adds the form to the page of the account.
func (s *Server) accountChoices(r *http.Request) (view.Choices, error) {
	user := s.user(r)
	c, err := s.people.NoticeChoice(r.Context(), user.ID)
	if err != nil {
		return view.Choices{}, err
	}
	v := view.Choices{Address: user.Email, Hour: clockHour(s.cfg.DigestHour), Mailed: s.cfg.Mail != nil}
	for _, k := range notice.Kinds() {
		v.Kinds = append(v.Kinds, view.KindRow{Kind: string(k), Words: sentenceCase(k.Words()), App: slices.Contains(c.App, k), Mail: slices.Contains(c.Mail, k)})
	}
	day, sent, failure, err := s.people.LastLetter(r.Context(), user.ID)
	switch {
	case err != nil || day == nil:
	case sent != nil:
		v.Last = "The last letter was of " + day.Format(time.DateOnly) + " and was handed in at " + sent.UTC().Format(accountTime) + "."
	case failure != "":
		v.Last = "The letter of " + day.Format(time.DateOnly) + " was not taken: " + failure + "."
	default:
		v.Last = "The letter of " + day.Format(time.DateOnly) + " waits to be sent."
	}
	return v, err
}

func clockHour(h int) string { return time.Date(2000, 1, 1, h, 0, 0, 0, time.UTC).Format("15:04") }

// RunLetters writes each morning what those who want letters are told, and hands the
// letters in, until the context ends. Several servers of one database may: a day has one
// letter a person, and a letter is in one hand at a time.
func (s *Server) RunLetters(ctx context.Context) {
	if s.cfg.Mail == nil {
		return
	}
	tick := time.NewTicker(time.Minute)
	defer tick.Stop()
	for {
		if err := s.Letters(ctx); err != nil && ctx.Err() == nil {
			s.log.ErrorContext(ctx, "letters were not written; the next minute goes on", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// Letters writes the letters that are due and hands in those that wait, once.
func (s *Server) Letters(ctx context.Context) error {
	readers, err := s.people.MailReaders(ctx)
	if err != nil {
		return err
	}
	for _, x := range readers {
		if err := s.writeLetter(ctx, x); err != nil {
			return err
		}
	}
	const lease, most = 5 * time.Minute, 20
	letters, err := s.people.TakeLetters(ctx, s.now(), lease, most)
	if err != nil {
		return err
	}
	for _, l := range letters {
		err := s.cfg.Mail.Send(ctx, l.ID.String(), l.Address, l.Subject, l.Body)
		switch {
		case err == nil:
			err = s.people.LetterSent(ctx, l.ID, s.now())
		case ctx.Err() != nil:
			return ctx.Err() // still in the outbox: whoever comes after the lease sends it
		default:
			s.log.WarnContext(ctx, "a letter was not taken", "letter", l.ID, "try", l.Tries, "error", err)
			again := s.now().Add(notice.Pause(l.Tries))
			if l.Tries >= notice.MostTries {
				again = time.Time{}
			}
			err = s.people.LetterFailed(ctx, l.ID, err.Error(), again, s.now())
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// writeLetter puts the digest of the day by for one reader, once the hour has come where
// their first program is.
func (s *Server) writeLetter(ctx context.Context, x db.Reader) error {
	roles, err := s.people.Roles(ctx, x.ID)
	if err != nil || len(roles) == 0 {
		return err
	}
	ids := []uuid.UUID{}
	for id := range roles {
		ids = append(ids, id)
	}
	heads, err := s.cfg.ListPrograms(ctx, ids)
	if err != nil || len(heads) == 0 {
		return err
	}
	slices.SortFunc(heads, func(a, b ProgramHead) int { return strings.Compare(a.Name+a.ID.String(), b.Name+b.ID.String()) })
	first, err := s.store.Program(ctx, heads[0].ID.String())
	if err != nil {
		return err
	}
	local := s.now().In(zoneOf(first))
	day := local.Format(time.DateOnly)
	if local.Hour() < s.cfg.DigestHour {
		return nil
	}
	if made, err := s.people.HasLetter(ctx, x.ID, day); err != nil || made {
		return err
	}
	base := strings.TrimRight(s.cfg.BaseURL, "/")
	var told []notice.Told
	for _, h := range heads {
		list, err := s.noticesOf(ctx, h, authz.Person{ID: x.ID, Roles: roles}, x.Mail)
		if err != nil {
			return err
		}
		t := notice.Told{Program: h.Name}
		for _, i := range list {
			t.Lines = append(t.Lines, notice.Line{Item: i, Href: base + noticePath(h, i)})
		}
		told = append(told, t)
	}
	subject, body := notice.Letter(x.Name, day, told, base+"/account#notices")
	return s.people.WriteLetter(ctx, x.ID, day, x.Email, subject, body, s.now())
}

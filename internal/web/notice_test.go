package web_test

import (
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-smtp"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/notice"
	"endcast/internal/domain/repair"
	"endcast/internal/mail"
	"endcast/internal/web"
	"endcast/internal/web/webtest"
)

func TestNoticesForTheOneWhoAsks(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	path := p.Path("notices")
	p.Role(authz.Laboratory).Get(path).Status(200).Has("Nothing waits for you")
	// An end submitted waits for the engineer, not for the laboratory.
	p.Do(authz.Inspector, "1N-2", asFound(0.3))
	p.Do(authz.Designer, "1N-2", smallDesign())
	p.Do(authz.Designer, "1N-2", repair.SubmitDesign{})
	p.Role(authz.Engineer).Get(path).Status(200).Has("1 design waits for review")
	// A break that nobody made is late for everybody.
	p.cast(40*24, "1N-1")
	a := p.Role(authz.Laboratory).Get(path).Status(200).Has("6 specimens are late", "presses", "/laboratory")
	require.Len(t, a.Select("tbody tr"), 1)
	// A window of tomorrow that is not granted, and lacks a confirmation.
	p.DoProgram(authz.Engineer, repair.SetWindowKind{Name: "lane closure", Confirmations: []string{"lane closed"}, SetupMin: 30, HandbackMin: 30})
	p.DoProgram(authz.Contractor, repair.SetWindow{Window: repair.Window{Kind: "lane closure", StartsAt: ago(-20 * time.Hour), EndsAt: ago(-27 * time.Hour), ProductiveH: 5, State: "planned"}})
	p.Role(authz.Manager).Get(path).Status(200).Has("Lane closure", "it is not granted yet; not confirmed: lane closed", "in 19 hours")

	// What somebody does not want to see is left out, and said so.
	c := p.Role(authz.Laboratory)
	c.Post("/account/notices", "app", "waiting", "app", "windows", "mail", "breaks").LeadsTo("/account#notices")
	c.Get(path).Status(200).Lacks("specimens are late").Has("You chose not to be told here of", "breaks that are due or late", "it is not granted yet")
	acc := c.Get("/account").Status(200).Has("This server sends no mail")
	require.Len(t, acc.Select(`input[name=app][checked]`), 2)
	require.Len(t, acc.Select(`input[name=mail][value=breaks][checked]`), 1)
	c.Post("/account/notices", "app", "gossip").Status(http.StatusBadRequest)
	c.Post("/account/notices").LeadsTo("/account#notices")
	c.Get(path).Status(200).Has("Nothing waits for you")
	p.AsIn(p.NewProgram("other"), authz.Engineer).Get(path).Status(404)
}

// postOffice is a mail server that takes letters, and refuses them on demand.
type postOffice struct {
	mu      sync.Mutex
	letters []string
	to      []string
	refuse  error
}

type postClerk struct {
	office *postOffice
	to     string
}

func (o *postOffice) NewSession(*smtp.Conn) (smtp.Session, error) { return &postClerk{office: o}, nil }
func (c *postClerk) Reset()                                       {}
func (c *postClerk) Logout() error                                { return nil }
func (c *postClerk) Mail(string, *smtp.MailOptions) error         { return nil }
func (c *postClerk) Rcpt(to string, _ *smtp.RcptOptions) error    { c.to = to; return nil }
func (c *postClerk) Data(r io.Reader) error {
	text, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	c.office.mu.Lock()
	defer c.office.mu.Unlock()
	if c.office.refuse != nil {
		return c.office.refuse
	}
	c.office.letters, c.office.to = append(c.office.letters, string(text)), append(c.office.to, c.to)
	return nil
}

func openOffice(t *testing.T) (*postOffice, *mail.Server) {
	t.Helper()
	o := &postOffice{}
	s := smtp.NewServer(o)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	done := make(chan struct{})
	go func() { defer close(done); _ = s.Serve(l) }()
	t.Cleanup(func() { _ = s.Close(); <-done })
	m, err := mail.Parse("smtp+plain://"+l.Addr().String(), "endcast@ends.test", "")
	require.NoError(t, err)
	return o, m
}

// A morning has one letter a person, however many servers write and however often; a
// letter that was refused is tried again and lost by nobody.
func TestLettersOfTheMorning(t *testing.T) {
	t.Parallel()
	office, server := openOffice(t)
	var mu sync.Mutex
	now := time.Now().UTC().Truncate(24 * time.Hour).Add(5 * time.Hour)
	pass := func(d time.Duration) { mu.Lock(); defer mu.Unlock(); now = now.Add(d) }
	clock := func() time.Time { mu.Lock(); defer mu.Unlock(); return now }
	p := newTestProgram(t, func(c *web.Config) { c.Mail, c.DigestHour, c.Now = server, 6, clock })
	p.Do(authz.Inspector, "1N-2", asFound(0.3))
	p.Do(authz.Designer, "1N-2", smallDesign())
	p.Do(authz.Designer, "1N-2", repair.SubmitDesign{})
	ctx := context.Background()
	p.Role(authz.Engineer).Post("/account/notices", "app", "waiting", "mail", "waiting", "mail", "breaks").LeadsTo("/account#notices")
	p.Role(authz.Manager).Post("/account/notices", "mail", "breaks").LeadsTo("/account#notices")

	require.NoError(t, p.Server.Letters(ctx))
	require.Empty(t, office.letters, "five in the morning is too early")
	pass(90 * time.Minute)
	office.refuse = errors.New("the queue is full")
	require.NoError(t, p.Server.Letters(ctx))
	require.Empty(t, office.letters)
	p.Role(authz.Engineer).Get("/account").Status(200).Has("was not taken", "the queue is full")
	office.refuse = nil
	require.NoError(t, p.Server.Letters(ctx))
	require.Empty(t, office.letters, "the pause after a refusal is not over")
	pass(6 * time.Minute)

	// Two servers at once.
	cfg := web.Config{Pool: p.Pool, BaseURL: webtest.Base, Release: "test", Mail: server, DigestHour: 6, Now: clock}
	other, err := web.New(cfg)
	require.NoError(t, err)
	t.Cleanup(other.Close)
	var both sync.WaitGroup
	for _, s := range []*web.Server{p.Server, other, p.Server, other} {
		both.Add(1)
		go func() { defer both.Done(); _ = s.Letters(ctx) }()
	}
	both.Wait()
	require.Len(t, office.letters, 1, "the manager has nothing to read, the engineer one letter")
	require.Contains(t, office.to[0], "engineer")
	head, body, _ := strings.Cut(office.letters[0], "\r\n\r\n")
	require.Contains(t, head, "Auto-Submitted: auto-generated")
	require.Contains(t, head, "Message-ID: <")
	require.Contains(t, head, "Subject: ")
	require.Contains(t, strings.ReplaceAll(body, "=\r\n", ""), "1 design waits for review")
	require.Contains(t, strings.ReplaceAll(body, "=\r\n", ""), webtest.Base+p.Path("reviews"))

	pass(10 * time.Hour)
	require.NoError(t, p.Server.Letters(ctx))
	require.Len(t, office.letters, 1)
	pass(24 * time.Hour)
	require.NoError(t, p.Server.Letters(ctx))
	require.Len(t, office.letters, 2, "the next day has its own")
}

// A server that dies with letters in hand leaves them to the next; one that is refused
// too often is given up, and says so.
func TestLettersOfADeadServer(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	ctx, now := context.Background(), time.Now().UTC()
	user := mustUUID(p.Actor(authz.Engineer).ID)
	require.NoError(t, p.People.ChooseNotices(ctx, user, db.NoticeChoice{Mail: notice.Kinds()}, now))
	for range 2 {
		require.NoError(t, p.People.WriteLetter(ctx, user, now.Format(time.DateOnly), "a@ends.test", "s", "b", now))
	}
	first, err := p.People.TakeLetters(ctx, now, time.Minute, 10)
	require.NoError(t, err)
	require.Len(t, first, 1)
	again, err := p.People.TakeLetters(ctx, now.Add(59*time.Second), time.Minute, 10)
	require.NoError(t, err)
	require.Empty(t, again, "in one hand at a time")
	again, err = p.People.TakeLetters(ctx, now.Add(61*time.Second), time.Minute, 10)
	require.NoError(t, err)
	require.Len(t, again, 1)
	require.Equal(t, 2, again[0].Tries)
	require.Equal(t, first[0].ID, again[0].ID, "the same Message-ID")
	require.NoError(t, p.People.LetterFailed(ctx, again[0].ID, "no such box", time.Time{}, now))
	again, err = p.People.TakeLetters(ctx, now.Add(1000*time.Hour), time.Minute, 10)
	require.NoError(t, err)
	require.Empty(t, again)
	_, sent, why, err := p.People.LastLetter(ctx, user)
	require.NoError(t, err)
	require.Nil(t, sent)
	require.Equal(t, "no such box", why)
	require.NoError(t, p.People.Disable(ctx, user, now))
	readers, err := p.People.MailReaders(ctx)
	require.NoError(t, err)
	require.Empty(t, readers, "a shut account gets no letters")
}

func TestNoticesAreDrawnWell(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.cast(40*24, "1N-1")
	page := p.Browser(authz.Laboratory)
	p.Look(page, p.Path("notices"), "notices")
	p.Look(page, "/account", "account")
}

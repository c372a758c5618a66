package db

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/notice"
	"endcast/internal/domain/sequence"
)

// NoticeChoice is what a person wants to be told of, on the page and by mail.
type NoticeChoice struct {
	App, Mail []notice.Kind
}

// NoticeChoice returns what a person chose: everything on the page and nothing by mail
// until they do.
func (p People) NoticeChoice(ctx context.Context, user uuid.UUID) (NoticeChoice, error) {
	var c NoticeChoice
	err := p.Pool.QueryRow(ctx, "select app, mail from notice_choice where user_id = $1", user).Scan(&c.App, &c.Mail)
	if errors.Is(err, pgx.ErrNoRows) {
		return NoticeChoice{App: notice.Kinds()}, nil
	}
	if err != nil {
		return c, fmt.Errorf("read choice of notices: %w", err)
	}
	return c, nil
}

// ChooseNotices stores what a person wants to be told of.
func (p People) ChooseNotices(ctx context.Context, user uuid.UUID, c NoticeChoice, at time.Time) error {
	_, err := p.Pool.Exec(ctx, `insert into notice_choice (user_id, app, mail, chosen_at) values ($1, $2, $3, $4)
		on conflict (user_id) do update set app = excluded.app, mail = excluded.mail, chosen_at = excluded.chosen_at`, user, words(c.App), words(c.Mail), at)
	if err != nil {
		return fmt.Errorf("store choice of notices: %w", err)
	}
	return nil
}

func words(of []notice.Kind) []string {
	out := make([]string, len(of)) // never null
	for i, k := range of {
		out[i] = string(k)
	}
	return out
}

// Reader is somebody who wants letters.
type Reader struct {
	ID          uuid.UUID
	Email, Name string
	Mail        []notice.Kind
}

// MailReaders lists the open accounts that want letters.
func (p People) MailReaders(ctx context.Context) ([]Reader, error) {
	rows, err := p.Pool.Query(ctx, `select u.id, u.email, u.name, c.mail from notice_choice c join app_user u on u.id = c.user_id
		where cardinality(c.mail) > 0 and u.disabled_at is null order by u.id`)
	if err == nil {
		var list []Reader
		if list, err = pgx.CollectRows(rows, pgx.RowToStructByPos[Reader]); err == nil {
			return list, nil
		}
	}
	return nil, fmt.Errorf("list readers: %w", err)
}

// Letter is a digest that waits to be sent.
type Letter struct {
	ID                     uuid.UUID
	UserID                 uuid.UUID
	Day                    time.Time
	Address, Subject, Body string
	Tries                  int // this one counted
}

// HasLetter reports whether a person's digest of a day is made.
func (p People) HasLetter(ctx context.Context, user uuid.UUID, day string) (bool, error) {
	var yes bool
	if err := p.Pool.QueryRow(ctx, "select exists (select 1 from letter where user_id = $1 and day = $2::date)", user, day).Scan(&yes); err != nil {
		return false, fmt.Errorf("look for a letter: %w", err)
	}
	return yes, nil
}

// WriteLetter puts a digest by for sending, unless that day has one. An empty subject
// notes a day with nothing to tell.
func (p People) WriteLetter(ctx context.Context, user uuid.UUID, day, address, subject, body string, now time.Time) error {
	_, err := p.Pool.Exec(ctx, `insert into letter (id, user_id, day, address, subject, body, made_at, next_at, ended_at)
		values (gen_random_uuid(), $1, $2::date, $3, $4, $5, $6::timestamptz, $6, case when $4 = '' then $6::timestamptz end) on conflict (user_id, day) do nothing`, user, day, address, subject, body, now)
	if err != nil {
		return fmt.Errorf("write a letter: %w", err)
	}
	return nil
}

// TakeLetters takes letters that are to be sent now. Nobody else takes them until the
// lease is over: a server that dies with them in hand leaves them to the next.
func (p People) TakeLetters(ctx context.Context, now time.Time, lease time.Duration, most int) ([]Letter, error) {
	rows, err := p.Pool.Query(ctx, `update letter set tries = tries + 1, next_at = $2 where id in (
			select id from letter where sent_at is null and ended_at is null and next_at <= $1 order by next_at limit $3 for update skip locked)
		returning id, user_id, day, address, subject, body, tries`, now, now.Add(lease), most)
	if err == nil {
		var list []Letter
		if list, err = pgx.CollectRows(rows, pgx.RowToStructByPos[Letter]); err == nil {
			return list, nil
		}
	}
	return nil, fmt.Errorf("take letters: %w", err)
}

// LetterSent notes that the mail server took a letter.
func (p People) LetterSent(ctx context.Context, id uuid.UUID, now time.Time) error {
	return p.noteLetter(ctx, "update letter set sent_at = $2, failure = '' where id = $1", id, now)
}

// LetterFailed notes why a letter was not taken and when it is tried again; a zero time
// gives it up.
func (p People) LetterFailed(ctx context.Context, id uuid.UUID, why string, again, now time.Time) error {
	if again.IsZero() {
		return p.noteLetter(ctx, "update letter set ended_at = $2, failure = $3 where id = $1", id, now, why)
	}
	return p.noteLetter(ctx, "update letter set next_at = $2, failure = $3 where id = $1", id, again, why)
}

func (p People) noteLetter(ctx context.Context, sql string, args ...any) error {
	if _, err := p.Pool.Exec(ctx, sql, args...); err != nil {
		return fmt.Errorf("note what became of a letter: %w", err)
	}
	return nil
}

// LastLetter is the latest digest of a person, for the page of the account: the day, what
// became of it and when. A nil time says that there is none.
func (p People) LastLetter(ctx context.Context, user uuid.UUID) (day *time.Time, sent *time.Time, failure string, err error) {
	err = p.Pool.QueryRow(ctx, "select day, sent_at, failure from letter where user_id = $1 and subject <> '' order by day desc limit 1", user).Scan(&day, &sent, &failure)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, nil, "", nil
	}
	if err != nil {
		return nil, nil, "", fmt.Errorf("read the last letter: %w", err)
	}
	return day, sent, failure, nil
}

// Stopped names the ends, of those with some ids, that something other than access stops.
func (st *Store) Stopped(ctx context.Context, programID string, ids []string) ([]string, error) {
	if len(ids) == 0 {
		return nil, nil
	}
	rows, err := st.Pool.Query(ctx, `select name from end_state where program_id = $1 and end_id = any($2::uuid[]) and not closed and reason <> '' and track <> $3 order by sort_key`,
		programID, ids, string(sequence.Access))
	if err == nil {
		var list []string
		if list, err = pgx.CollectRows(rows, pgx.RowTo[string]); err == nil {
			return list, nil
		}
	}
	return nil, fmt.Errorf("read what stops ends: %w", err)
}

// Package mail hands letters to a mail server, by SMTP.
package mail

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/url"
	"os"
	"strconv"
	"strings"
	"time"

	gomail "github.com/wneessen/go-mail"
)

// Server is where letters are handed in.
type Server struct {
	Host     string
	Port     int
	User     string
	Password string
	From     string // address of the sender
	// Plain sends without encryption, for a relay on the same machine; otherwise the
	// connection is encrypted or nothing is sent.
	Plain    bool
	Implicit bool // encrypted from the first byte, usually port 465
}

// patience bounds one letter.
const patience = 30 * time.Second

// Parse reads an address such as smtp://user@mail.example.org:587, smtps://… for one that
// is encrypted from the first byte, or smtp+plain://127.0.0.1:25 for a relay on the same
// machine. passwordFile holds the password on its first line, where there is a user; an
// empty address is no server, and gives nil.
func Parse(address, from, passwordFile string) (*Server, error) {
	if address == "" {
		return nil, nil
	}
	u, err := url.Parse(address)
	if err != nil || u.Hostname() == "" || strings.Trim(u.Path, "/") != "" {
		return nil, fmt.Errorf("mail server %q is not like smtp://user@mail.example.org:587", address)
	}
	s := &Server{Host: u.Hostname(), User: u.User.Username(), From: from, Port: 587}
	switch u.Scheme {
	case "smtp":
	case "smtps":
		s.Implicit, s.Port = true, 465
	case "smtp+plain":
		s.Plain, s.Port = true, 25
		if ip := net.ParseIP(s.Host); s.Host != "localhost" && (ip == nil || !ip.IsLoopback()) {
			return nil, fmt.Errorf("mail server %q: without encryption only a relay on the same machine is used", address)
		}
	default:
		return nil, fmt.Errorf("mail server %q begins with none of smtp://, smtps://, smtp+plain://", address)
	}
	if p := u.Port(); p != "" {
		if s.Port, err = strconv.Atoi(p); err != nil || s.Port < 1 || s.Port > 65535 {
			return nil, fmt.Errorf("mail server %q: %s is no port", address, p)
		}
	}
	if _, there := u.User.Password(); there {
		return nil, errors.New("the password of the mail server goes into a file of its own, not into its address")
	}
	if s.User != "" {
		text, err := os.ReadFile(passwordFile)
		if err != nil {
			return nil, fmt.Errorf("password of the mail server: %w", err)
		}
		s.Password, _, _ = strings.Cut(string(text), "\n")
		s.Password = strings.TrimRight(s.Password, "\r")
	}
	if err := gomail.NewMsg().From(from); err != nil {
		return nil, fmt.Errorf("sender of letters: %q is no address", from)
	}
	return s, nil
}

// Send hands in one letter. id makes the Message-ID, so that a letter handed in twice
// after a crash is known for the same.
func (s *Server) Send(ctx context.Context, id, to, subject, body string) error {
	m := gomail.NewMsg()
	if err := m.From(s.From); err != nil {
		return fmt.Errorf("sender: %w", err)
	}
	if err := m.To(to); err != nil {
		return fmt.Errorf("address: %w", err)
	}
	m.SetMessageIDWithValue(id + "@" + s.domain())
	m.SetDate()
	m.SetGenHeader("Auto-Submitted", "auto-generated") // RFC 3834: no answer of an absent person comes back
	m.Subject(subject)
	m.SetBodyString(gomail.TypeTextPlain, body)
	opts := []gomail.Option{gomail.WithPort(s.Port), gomail.WithTimeout(patience)}
	switch {
	case s.Plain:
		opts = append(opts, gomail.WithTLSPolicy(gomail.NoTLS))
	case s.Implicit:
		opts = append(opts, gomail.WithSSL())
	default:
		opts = append(opts, gomail.WithTLSPolicy(gomail.TLSMandatory))
	}
	if s.User != "" {
		opts = append(opts, gomail.WithSMTPAuth(gomail.SMTPAuthAutoDiscover), gomail.WithUsername(s.User), gomail.WithPassword(s.Password))
	}
	c, err := gomail.NewClient(s.Host, opts...)
	if err != nil {
		return fmt.Errorf("mail server: %w", err)
	}
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	if err := c.DialAndSendWithContext(ctx, m); err != nil {
		return fmt.Errorf("send: %w", err)
	}
	return nil
}

func (s *Server) domain() string {
	_, domain, ok := strings.Cut(strings.Trim(s.From, "<> "), "@")
	if !ok || domain == "" {
		return "localhost"
	}
	return strings.TrimRight(domain, ">")
}

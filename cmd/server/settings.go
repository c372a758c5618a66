package main

import (
	"flag"
	"fmt"
	"log/slog"
	"net"
	"net/netip"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"endcast/internal/db"
	"endcast/internal/mail"
)

// settings are what an owner decides about an installation.
type settings struct {
	Addr, DatabaseURL, Data, Account, BaseURL, Proxies, Log, LogLevel, Photos, Chromium string

	SignOnIssuer, SignOnClient, SignOnSecretFile, SignOnName, SignOnRedirect string
	Mail, MailFrom, MailPassword, DigestHour                                 string
}

// setting is one of them, as the environment and the flags know it.
type setting struct {
	env, flag, text string
	standard        func() string
	field           func(*settings) *string
}

func (s setting) help() string {
	if d := s.standard(); d != "" {
		return s.text + " (" + d + ")"
	}
	return s.text
}

func always(s string) func() string { return func() string { return s } }

var settingTable = []setting{
	{"ENDCAST_ADDR", "addr", "address to listen on", always("127.0.0.1:8080"), func(s *settings) *string { return &s.Addr }},
	{"ENDCAST_BASE_URL", "base-url", "address as people type it, when it differs from the one listened on", always(""),
		func(s *settings) *string { return &s.BaseURL }},
	{"DATABASE_URL", "database", "PostgreSQL server to use; empty runs a built-in one in the data folder", always(""),
		func(s *settings) *string { return &s.DatabaseURL }},
	{"ENDCAST_DATA", "data", "folder of the built-in database", defaultData, func(s *settings) *string { return &s.Data }},
	{"ENDCAST_PHOTOS", "photos", "folder for the originals of photographs; empty keeps them in the database", always(""), func(s *settings) *string { return &s.Photos }},
	{"ENDCAST_CHROMIUM", "chromium", "program that makes PDFs; empty looks for Chromium, none makes no PDF", always(""), func(s *settings) *string { return &s.Chromium }},
	{"ENDCAST_DATABASE_USER", "database-user", "user who runs the built-in database when started as root; empty takes the owner of the folder, else postgres or nobody",
		always(""), func(s *settings) *string { return &s.Account }},
	{"ENDCAST_TRUSTED_PROXIES", "trusted-proxies", "networks of proxies whose X-Forwarded-For is believed, such as 10.0.0.0/8, with commas",
		always(""), func(s *settings) *string { return &s.Proxies }},
	{"ENDCAST_SIGN_ON_ISSUER", "sign-on-issuer", "sign-on service by OpenID Connect, beside local accounts; its address, such as https://id.example.org", always(""),
		func(s *settings) *string { return &s.SignOnIssuer }},
	{"ENDCAST_SIGN_ON_CLIENT", "sign-on-client", "name of this program at the sign-on service (client id)", always(""), func(s *settings) *string { return &s.SignOnClient }},
	{"ENDCAST_SIGN_ON_SECRET_FILE", "sign-on-secret-file", "file with the client secret; empty for a client without one", always(""), func(s *settings) *string { return &s.SignOnSecretFile }},
	{"ENDCAST_SIGN_ON_NAME", "sign-on-name", "what people call the sign-on service", always(""), func(s *settings) *string { return &s.SignOnName }},
	{"ENDCAST_SIGN_ON_REDIRECT", "sign-on-redirect", "address that the service sends people back to; empty for the base address with /sign-on/back", always(""),
		func(s *settings) *string { return &s.SignOnRedirect }},
	{"ENDCAST_MAIL", "mail", "mail server for the letters of the morning, such as smtp://user@mail.example.org:587; empty sends none", always(""), func(s *settings) *string { return &s.Mail }},
	{"ENDCAST_MAIL_FROM", "mail-from", "address that the letters come from", always(""), func(s *settings) *string { return &s.MailFrom }},
	{"ENDCAST_MAIL_PASSWORD_FILE", "mail-password-file", "file with the password of the mail server's user", always(""), func(s *settings) *string { return &s.MailPassword }},
	{"ENDCAST_DIGEST_HOUR", "digest-hour", "hour of the day, where the program is, after which letters go out", always("6"), func(s *settings) *string { return &s.DigestHour }},
	{"ENDCAST_LOG", "log", "form of the log: text or json", always("text"), func(s *settings) *string { return &s.Log }},
	{"ENDCAST_LOG_LEVEL", "log-level", "least level to log: debug, info, warn or error", always("info"), func(s *settings) *string { return &s.LogLevel }},
}

// defaultData is a folder of the system for root, since PostgreSQL's user cannot enter root's home, and one of the user's own
// otherwise.
func defaultData() string {
	if os.Geteuid() == 0 {
		return "/var/lib/endcast"
	}
	if x := os.Getenv("XDG_DATA_HOME"); filepath.IsAbs(x) {
		return filepath.Join(x, "endcast")
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "data"
	}
	return filepath.Join(home, ".local", "share", "endcast")
}

// readEnvironment takes the settings from the environment. A misspelled one is an error, not a silent default.
func readEnvironment(env []string) (settings, error) {
	var s settings
	for _, k := range settingTable {
		*k.field(&s) = k.standard()
	}
	for _, e := range env {
		name, value, _ := strings.Cut(e, "=")
		i := slices.IndexFunc(settingTable, func(k setting) bool { return k.env == name })
		switch {
		case i >= 0 && value != "":
			*settingTable[i].field(&s) = value
		case i < 0 && strings.HasPrefix(name, "ENDCAST_"):
			return s, fmt.Errorf("%s is no setting of this program", name)
		}
	}
	return s, nil
}

// flags lets the command line win over what was read so far.
func (s *settings) flags(fs *flag.FlagSet) {
	for _, k := range settingTable {
		p := k.field(s)
		fs.StringVar(p, k.flag, *p, k.text+" ["+k.env+"]")
	}
}

// folder opens the folder of photographs; nil where they are kept in the database.
func (s *settings) folder() (*db.Folder, error) {
	if s.Photos == "" {
		return nil, nil
	}
	return db.OpenFolder(s.Photos)
}

func (s *settings) check() error {
	if _, _, err := net.SplitHostPort(s.Addr); err != nil {
		return fmt.Errorf("-addr %q is not host:port", s.Addr)
	}
	if s.BaseURL != "" {
		if u, err := url.Parse(s.BaseURL); err != nil || u.Host == "" || (u.Scheme != "http" && u.Scheme != "https") || strings.Trim(u.Path, "/") != "" {
			return fmt.Errorf("-base-url %q is not like https://ends.example.org", s.BaseURL)
		}
	}
	if s.DatabaseURL == "" && s.Data == "" {
		return fmt.Errorf("-data is empty and there is no -database")
	}
	for _, p := range s.proxies() {
		if _, err := netip.ParsePrefix(p); err != nil {
			return fmt.Errorf("-trusted-proxies: %q is not a network such as 10.0.0.0/8", p)
		}
	}
	if err := s.checkSignOn(); err != nil {
		return err
	}
	if _, err := s.mailServer(); err != nil {
		return fmt.Errorf("-mail: %w", err)
	}
	if h, err := strconv.Atoi(s.DigestHour); err != nil || h < 0 || h > 23 {
		return fmt.Errorf("-digest-hour %q is no hour from 0 to 23", s.DigestHour)
	}
	if s.Log != "text" && s.Log != "json" {
		return fmt.Errorf("-log %q is neither text nor json", s.Log)
	}
	var level slog.Level
	if err := level.UnmarshalText([]byte(s.LogLevel)); err != nil {
		return fmt.Errorf("-log-level %q is none of debug, info, warn, error", s.LogLevel)
	}
	return nil
}

func (s *settings) mailServer() (*mail.Server, error) {
	return mail.Parse(s.Mail, s.MailFrom, s.MailPassword)
}

func (s *settings) proxies() []string {
	var out []string
	for p := range strings.SplitSeq(s.Proxies, ",") {
		if p = strings.TrimSpace(p); p != "" {
			out = append(out, p)
		}
	}
	return out
}

// baseURL is the address as people type it, given the one that is really listened on.
func (s *settings) baseURL(listening net.Addr) string {
	if s.BaseURL != "" {
		return strings.TrimRight(s.BaseURL, "/")
	}
	host, port, err := net.SplitHostPort(listening.String())
	if ip, e := netip.ParseAddr(host); err != nil || e != nil || ip.IsUnspecified() {
		host = "localhost"
	}
	return "http://" + net.JoinHostPort(host, port)
}

// logger writes to the console's error stream. check has seen to it that the level can be read.
func (s *settings) logger(c console) *slog.Logger {
	var level slog.Level
	_ = level.UnmarshalText([]byte(s.LogLevel))
	o := &slog.HandlerOptions{Level: level}
	if s.Log == "json" {
		return slog.New(slog.NewJSONHandler(c.err, o))
	}
	return slog.New(slog.NewTextHandler(c.err, o))
}

package main

import (
	"errors"
	"fmt"
	"io"
	"net"
	"net/netip"
	"net/url"
	"os"
	"strings"

	"endcast/internal/web"
)

// mostSecret bounds the file of the client secret, in bytes.
const mostSecret = 4096

func (s *settings) checkSignOn() error {
	if s.SignOnIssuer == "" {
		if s.SignOnClient+s.SignOnSecretFile+s.SignOnRedirect != "" {
			return errors.New("there are settings of a sign-on service and no -sign-on-issuer")
		}
		return nil
	}
	if s.SignOnClient == "" {
		return errors.New("-sign-on-issuer needs -sign-on-client")
	}
	for _, a := range []struct{ flag, address string }{{"-sign-on-issuer", s.SignOnIssuer}, {"-sign-on-redirect", s.SignOnRedirect}} {
		if a.address == "" {
			continue
		}
		u, err := url.Parse(a.address)
		if err != nil || u.Host == "" || (u.Scheme != "https" && (u.Scheme != "http" || !thisMachine(u.Host))) {
			return fmt.Errorf("%s %q must be an https address; plain http is for this machine only", a.flag, a.address)
		}
	}
	return nil
}

func thisMachine(host string) bool {
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	ip, err := netip.ParseAddr(strings.Trim(host, "[]"))
	return host == "localhost" || err == nil && ip.IsLoopback()
}

// signOn is the sign-on service of the settings; nil for none.
func (s *settings) signOn() (*web.SignOn, error) {
	if s.SignOnIssuer == "" {
		return nil, nil
	}
	out := &web.SignOn{Issuer: s.SignOnIssuer, ClientID: s.SignOnClient, Name: s.SignOnName, Redirect: s.SignOnRedirect}
	if s.SignOnSecretFile == "" {
		return out, nil
	}
	f, err := os.Open(s.SignOnSecretFile)
	if err != nil {
		return nil, fmt.Errorf("-sign-on-secret-file: %w", err)
	}
	defer func() { _ = f.Close() }()
	b, err := io.ReadAll(io.LimitReader(f, mostSecret+1))
	if err != nil {
		return nil, fmt.Errorf("-sign-on-secret-file: %w", err)
	}
	if out.Secret = strings.TrimSpace(string(b)); out.Secret == "" || len(b) > mostSecret {
		return nil, fmt.Errorf("-sign-on-secret-file: %s holds no secret, or more than %d bytes", s.SignOnSecretFile, mostSecret)
	}
	return out, nil
}

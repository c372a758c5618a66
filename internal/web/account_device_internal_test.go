package web

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestDeviceInWords(t *testing.T) {
	t.Parallel()
	for agent, want := range map[string]string{
		"Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Safari/537.36":                          "Chrome on Linux",
		"Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Safari/537.36 Edg/140.0.0.0":  "Edge on Windows",
		"Mozilla/5.0 (Android 15; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0":                                                           "Firefox on Android",
		"Mozilla/5.0 (iPad; CPU OS 18_1 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.1 Mobile/15E148 Safari/604.1": "Safari on iPad",
		"Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.1 Safari/605.1.15":          "Safari on Mac",
		"<script>alert(1)</script>": "unknown browser",
		"":                          "unknown browser",
	} {
		require.Equal(t, want, deviceOf(agent))
	}
}

package browsertest

import (
	"context"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// Own is a tab in a browser of its own, with a profile that outlives the browser: for
// what must survive a dead battery.
type Own struct {
	*Page
	dir   string
	close func()
}

// NewOwn serves the handler and opens a tab on it in a new browser. Both end with the
// test.
func NewOwn(t testing.TB, handler http.Handler) *Own {
	t.Helper()
	server := httptest.NewServer(handler)
	t.Cleanup(server.Close)
	o := &Own{Page: &Page{URL: server.URL, t: t}, dir: t.TempDir()}
	o.open()
	t.Cleanup(func() { o.close() })
	return o
}

func (o *Own) open() {
	o.t.Helper()
	opts, err := options(o.dir)
	require.NoError(o.t, err)
	alloc, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	ctx, cancel := chromedp.NewContext(alloc)
	require.NoError(o.t, chromedp.Do(ctx))
	o.ctx, o.close = ctx, func() { cancel(); stop() }
	require.NoError(o.t, chromedp.Listen(ctx, o.listen))
	o.SetViewport(820, 1180)
}

// Kill ends the browser at once, as a dead battery does, and opens another on what it
// left behind.
func (o *Own) Kill() {
	o.t.Helper()
	require.NoError(o.t, chromedp.FromContext(o.ctx).Browser.Process().Kill())
	o.close()
	left, err := filepath.Glob(filepath.Join(o.dir, "Singleton*"))
	require.NoError(o.t, err)
	for _, f := range left {
		require.NoError(o.t, os.Remove(f))
	}
	o.open()
}

// Offline cuts the network off from the tab, or gives it back.
func (p *Page) Offline(off bool) {
	p.t.Helper()
	run(p, "cut the network", chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		worker := off
		params := network.EmulateNetworkConditionsByRuleParams{EmulateOfflineServiceWorker: &worker, MatchedNetworkConditions: []*network.Conditions{}}
		if off {
			params.MatchedNetworkConditions = append(params.MatchedNetworkConditions, &network.Conditions{Offline: true, DownloadThroughput: -1, UploadThroughput: -1})
		}
		if _, err := cdp.Call(ctx, t, network.EmulateNetworkConditionsByRule, params); err != nil {
			return err
		}
		_, err := cdp.Call(ctx, t, network.OverrideNetworkState, network.OverrideNetworkStateParams{Offline: off, DownloadThroughput: -1, UploadThroughput: -1})
		return err
	}))
}

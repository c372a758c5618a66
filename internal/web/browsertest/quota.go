package browsertest

import (
	"context"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/storage"
	"github.com/chromedp/chromedp"
)

// Quota bounds what the page may store to so many bytes; below 0 lifts the bound.
func (p *Page) Quota(bytes float64) {
	p.t.Helper()
	params := storage.OverrideQuotaForOriginParams{Origin: p.URL}
	if bytes >= 0 {
		params.QuotaSize = &bytes
	}
	run(p, "bound the storage", chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, storage.OverrideQuotaForOrigin, params)
		return err
	}))
}

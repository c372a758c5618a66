package web_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
)

// What a casting of two ends takes is the sum of their panels less their studs, with
// bags rounded up by the batch.
func TestQuantitiesOfTwoEnds(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	p.approved("1N-2")
	c := p.Role(authz.Contractor)
	c.Get(p.Path("pours", "quantities")).Status(200).Has("Tick the ends")
	c.Get(p.Path("pours", "quantities") + "?end=1F-1").Status(200).Has("1F-1 has no design")
	c.Get(p.Path("pours", "quantities") + "?also=7F-9").Status(200).Has("There is no girder end 7F-9")

	window := repair.Window{Kind: "lane_closure", StartsAt: ago(-20 * time.Hour), EndsAt: ago(-27 * time.Hour), ProductiveH: 5, State: "granted"}
	p.DoProgram(authz.Contractor, repair.SetWindow{Window: window})
	id := p.Scope("1N-1").Windows[0].ID
	a := c.Get(p.Path("pours", "quantities") + "?end=1N-1&also=1n-2&window=" + id).Status(200)
	s := p.Scope("1N-1")
	studs := len(s.Ends[0].StudsOf(s.Ends[0].DesignInForce().ID))
	net := 2 * (16*24*6 - float64(studs)*math.Pi*0.625*0.625/4*2) / 1728
	// 12 cylinders of 3 x 6 in by the default plan and one flow test a batch of a 4 x 2.75 x 2 in mold.
	total := net*1.10 + 12*math.Pi*9/4*6/1728 + math.Pi*2/12*(16+11+2.75*2.75)/1728
	bags := math.Ceil(total / (50 / (3665. / 27)))
	require.Less(t, total, 4., "one batch of the mixer")
	a.Has(fmt.Sprintf("%.2f\u00a0ft³", net), fmt.Sprintf("%.2f\u00a0ft³", total), "<dt>Bags in a batch</dt><dd class=\"num\">"+fmt.Sprint(int(bags)), "default", "Last batch begins by",
		// 24 in of panel and 12 in of hopper at 0.155 kcf.
		"465 psf")
	require.NotEmpty(t, a.Select("math"), "the sheet is behind the numbers")
	sheet := c.Get(p.Path("pours", "quantities", "sheet") + "?end=1N-1&end=1N-2&window=" + id).Status(200)
	sheet.Has("Target masses of one batch", "Batch sheet")
	require.Len(t, sheet.Select(`a[href^="`+p.Path("pours", "quantities")+`?end=1N-1"]`), 1)
	c.Get(p.Path("pours", "quantities", "sheet")).Status(200).Has("nothing to print")
}

func TestQuantityPagesAreDrawnWell(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	p.approved("1N-2")
	page := p.Browser(authz.Contractor)
	p.Look(page, p.Path("pours", "quantities")+"?end=1N-1&end=1N-2", "quantities")
	p.Look(page, p.Path("pours", "quantities", "sheet")+"?end=1N-1&end=1N-2", "batch-sheet")
	require.NotEmpty(t, page.PDF(true))
}

package web

import (
	"net/http"
	"strconv"
	"time"

	"endcast/views/casting"
	"endcast/views/ui"
)

// pourCard is the pour on paper, with a label for every specimen.
func (s *Server) pourCard(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openPour(r)
	if err != nil {
		return err
	}
	v, err := c.view()
	if err != nil {
		return err
	}
	card := casting.Card{Pour: v, Program: c.head.Name}
	ends := c.endNames()
	for _, sp := range c.byMark() {
		due := sp.CastAt.Add(time.Duration(sp.NominalDays * 24 * float64(time.Hour)))
		card.Labels = append(card.Labels, casting.Label{Mark: sp.Mark, Program: c.head.Name, Ends: ends, Pour: v.Number, Cast: c.day(sp.CastAt), Kind: kindName(sp.Kind),
			Curing: cureWords(sp.Curing), Age: ageText(sp.NominalDays * 24), Due: c.day(due)})
	}
	number := strconv.Itoa(c.pour.Number)
	p := s.page(r, "Pour card "+number, ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Pours", Href: c.head.Path("pours")},
		ui.Crumb{Label: "Pour " + number, Href: c.head.Path("pours", number)})
	p.Block = c.block()
	return s.render(w, r, http.StatusOK, casting.CardPage(p, card))
}

package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/views/casting"
	"endcast/views/tablet"
	"endcast/views/ui"
)

// specimenLabels is a sheet of labels: of one pour, or of all specimens that wait.
func (s *Server) specimenLabels(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	v := casting.SpecLabels{Back: c.head.Path("laboratory"), Title: "Labels of every specimen that waits to be broken."}
	var list db.CastingList
	if asked := r.URL.Query().Get("pour"); asked != "" {
		number, nerr := strconv.Atoi(asked)
		if nerr != nil || number < 1 || number > 1<<30 {
			return fault.New(fault.NotFound, "a pour is named by its number")
		}
		v.Title = "Labels of every specimen of pour " + asked + "."
		list, err = s.store.Casting(r.Context(), c.head.ID.String(), number)
	} else {
		list, err = s.store.Laboratory(r.Context(), c.head.ID.String(), c.now.Add(24*time.Hour))
	}
	if err != nil {
		return err
	}
	slices.SortFunc(list.Specimens, func(a, b repair.Specimen) int { return strings.Compare(a.Mark, b.Mark) })
	numbers, ends := map[string]string{}, map[string]string{}
	for _, p := range list.Pours {
		var names []string
		for _, l := range c.endLinks(list, p.ID) {
			names = append(names, l.Text)
		}
		numbers[p.ID], ends[p.ID] = strconv.Itoa(p.Number), strings.Join(names, ", ")
	}
	for _, sp := range list.Specimens {
		code, err := tablet.Encode(strings.TrimSuffix(s.base.String(), "/") + c.head.Path("laboratory", "specimens", sp.Mark))
		if err != nil {
			return err
		}
		due := sp.CastAt.Add(time.Duration(sp.NominalDays * 24 * float64(time.Hour)))
		v.Labels = append(v.Labels, casting.SpecLabel{Code: code, Label: casting.Label{Mark: sp.Mark, Program: c.head.Name, Ends: ends[sp.PourID], Pour: numbers[sp.PourID], Cast: c.day(sp.CastAt),
			Kind: kindName(sp.Kind), Curing: cureWords(sp.Curing), Age: ageText(sp.NominalDays * 24), Due: c.day(due)}})
	}
	p := s.page(r, "Specimen labels", ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Laboratory", Href: c.head.Path("laboratory")})
	return s.render(w, r, http.StatusOK, casting.SpecLabelsPage(p, v))
}

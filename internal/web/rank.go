package web

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"endcast/internal/db"
	"endcast/internal/domain/outlook"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/bridge"
	views "endcast/views/outlook"
	"endcast/views/ui"
)

const rankPerPage = 50

// rankWords are the orders of the page; the address carries the word.
var rankWords = map[string]string{"": "What to repair first", "rating": "Least rating first", "fall": "Soonest to fall", "chance": "Greatest chance", "reserve": "Least reserve first"}

// rankKeys say what each order goes by.
var rankKeys = map[string]string{
	"": "First the ends whose capacity is below the demand, the largest shortfall over demand first; then those that fall below it within the years looked at, " +
		"the earliest year at the high rate of loss first; then those with a chance of being below it now, the highest first; then the rest, the smallest reserve first; " +
		"then those without a demand; last those that a repair in place already carries, with its strength proven. What is equal goes by the next of these, and in the end by name. An end outside the limits of the method keeps the place of its numbers and says so.",
	"rating":  "By the least rating factor of each end as it is, the lowest first. An end without a factor comes last: only the total of its demand is known, or nothing.",
	"fall":    "By the year in which the capacity falls below the demand at the high rate of loss, the earliest first. An end without such a year comes last; one that is below already has none.",
	"chance":  "By the chance that the capacity is below the demand now, the highest first. An end that was not sampled comes last.",
	"reserve": "By capacity over demand, the lowest first.",
}

// rankShow lists the ends of a program in the order in which to repair them.
func (s *Server) rankShow(w http.ResponseWriter, r *http.Request) error {
	head, sys, q := s.program(r), s.units(r), r.URL.Query()
	id := head.ID.String()
	frame, err := s.store.Frame(r.Context(), id)
	if err != nil {
		return err
	}
	order := q.Get("order")
	if !slices.Contains(db.RankOrders(), order) {
		order = ""
	}
	list, err := s.store.Ranking(r.Context(), id, db.RankFilter{Closed: q.Get("show") == "all", Support: q.Get("support")}, order, q.Get("after"), rankPerPage)
	if err != nil {
		return err
	}
	v := views.Rank{Action: head.Path("first"), Support: q.Get("support"), Show: q.Get("show"), Order: order, Force: units.Forces.Label(sys),
		Assumptions: head.Path("assumptions"), Assumed: assumedWords(frame, sys), Key: rankKeys[order], Supports: []ui.Option{{Value: "", Label: "Any"}}}
	for _, sup := range frame.Supports {
		v.Supports = append(v.Supports, ui.Option{Value: sup.Code, Label: sup.Code + ", " + sup.Name})
	}
	for _, o := range db.RankOrders() {
		v.Orders = append(v.Orders, ui.Option{Value: o, Label: rankWords[o]})
	}
	for _, row := range list.Rows {
		v.Rows = append(v.Rows, rankRow(head, row, sys))
	}
	if n := len(list.Rows); n > 0 {
		v.Span = "Places " + strconv.Itoa(list.Rows[0].Place) + " to " + strconv.Itoa(list.Rows[n-1].Place)
	}
	at := func(after string) string {
		c := url.Values{}
		for _, k := range []string{"support", "show", "order"} {
			if x := q.Get(k); x != "" {
				c.Set(k, x)
			}
		}
		if after != "" {
			c.Set("after", after)
		}
		return head.Path("first") + "?" + c.Encode()
	}
	if list.Next != "" {
		v.Next = at(list.Next)
	}
	if q.Get("after") != "" {
		v.Top = at("")
	}
	return s.render(w, r, http.StatusOK, views.RankPage(s.page(r, rankWords[order]), v))
}

func assumedWords(frame *repair.Scope, sys units.System) string {
	a := frame.Assumed()
	if a == nil {
		return "No rate of loss is assumed: years follow from two surveys of an end, or from the age of the bridge."
	}
	return "Where no two surveys of an end tell a rate of loss, " + rateYear(a.RateLow, sys) + " to " + rateYear(a.RateHigh, sys) + " is assumed, " + rateYear(a.Rate, sys) + " in the middle."
}

func rankRow(head ProgramHead, x db.RankRow, sys units.System) views.RankRow {
	one := x.Standing()
	row := views.RankRow{Place: strconv.Itoa(x.Place), Name: x.Name, Href: head.Path("ends", x.Name), Support: x.SupportCode, Reason: outlook.Rank([]outlook.Standing{one})[0].Reason,
		Capacity: figure(units.Forces, sys, float64(one.Capacity)), Demand: figure(units.Forces, sys, float64(one.Demand)), Short: "–", Chance: "–", Year: "–",
		Least: factorText(x.RatingLeast), Next: x.StepName, Blocked: blockMark(x.State), Outside: one.Outside}
	if one.Carried {
		// The figures are of the corroded steel; beside a repair that carries they mislead.
		row.Capacity, row.Least, row.Next, row.Blocked = "–", "–", x.StepName, blockMark(x.State)
		return row
	}
	if x.Closed {
		row.Next = "Closed"
		row.Reason += "; repaired and closed: the numbers are those of the steel without the repair"
	}
	if one.Demand > one.Capacity {
		row.Short = figure(units.Forces, sys, float64(one.Demand-one.Capacity))
	}
	if x.Chance != nil {
		row.Chance = chanceText(*x.Chance)
		if x.ChanceLow != nil && x.ChanceHigh != nil {
			row.Interval = rangeText(*x.ChanceLow, *x.ChanceHigh)
		}
	}
	row.Year, row.Range = rankYear(x)
	return row
}

// rankYear is the year in which an end falls below its demand, and its range.
func rankYear(x db.RankRow) (year, span string) {
	switch outlook.Verdict(x.FallVerdict) {
	case outlook.Already:
		return "below now", ""
	case outlook.Falls, outlook.Beyond:
	default:
		return "–", ""
	}
	if x.FallEarly == nil {
		return "not foreseen", ""
	}
	year, late := "later", "later"
	if x.FallYear != nil {
		year = calendarText(*x.FallYear)
	}
	if x.FallLate != nil {
		late = calendarText(*x.FallLate)
	}
	return year, calendarText(*x.FallEarly) + " to " + late
}

// rankLinks lead from the page of a bridge to the orders of its ends.
func rankLinks(head ProgramHead) []bridge.Link {
	var out []bridge.Link
	for _, o := range db.RankOrders() {
		l := bridge.Link{Label: rankWords[o], Href: head.Path("first")}
		if o != "" {
			l.Href += "?order=" + o
		}
		out = append(out, l)
	}
	return out
}

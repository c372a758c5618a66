// Package family finds which girder ends may share one layout of studs and one
// form. Ends alike in section, bearing, stiffeners, diaphragm and materials are
// joined while that lowers the total price of studs, UHPC, form sizes and layouts
// to design and review; a shared layout passes every deciding check at every end
// of its family. Prices and the limits of likeness are settings of the design
// basis. The plan is a proposal for the designer, who reviews and owns it.
package family

import (
	"errors"
	"sort"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// Item is one end that asks for a layout.
type Item struct {
	Key       string // what the caller calls it, for example 2F-3
	Geometry  girder.Geometry
	Steel     encasement.Steel // nil is as new
	Demand    units.Force      // factored reaction
	Materials encasement.Materials
	// Own is the layout of this end alone; nil, or one that does not pass, is
	// proposed here.
	Own *encasement.Design
}

// Cost is the price of things in one relative unit.
type Cost struct {
	Stud   float64 // of a stud
	UHPC   float64 // of a mm3 placed
	Form   float64 // of one more form size
	Design float64 // of one more layout to design and review
}

// cubicFoot in mm3.
const cubicFoot = 12 * 12 * 12 * float64(units.Inch*units.Inch*units.Inch)

// CostFrom is the prices of a design basis.
func CostFrom(b basis.Basis) Cost {
	return Cost{Stud: b.Value(basis.FamilyStud), UHPC: b.Value(basis.FamilyUHPC) / cubicFoot, Form: b.Value(basis.FamilyForm), Design: b.Value(basis.FamilyDesign)}
}

// Form is a form size.
type Form struct{ Width, Height, Left, Right units.Length }

// FormOf is the form that a design needs.
func FormOf(d encasement.Design) Form {
	return Form{Width: d.Panel.Width, Height: d.Panel.Height, Left: d.Panel.ThicknessLeft, Right: d.Panel.ThicknessRight}
}

// Bill is what some ends take.
type Bill struct {
	Ends    int
	Studs   int
	Volume  units.Volume // of panels, mm3
	Layouts int
	Forms   int     // sizes
	Price   float64 // in the unit of Cost
}

// Member is one end of a family and what sharing costs it.
type Member struct {
	Key         string
	Item        int               // place in the items given
	Own         encasement.Design // the layout it would have alone
	Proposed    bool              // Own was proposed here; false when it was given
	ExtraStuds  int               // shared less own
	ExtraVolume units.Volume
	ExtraPrice  float64           // of studs and UHPC
	Result      encasement.Result // of the shared layout at this end; it passes
}

// Family is ends that share one layout and one form.
type Family struct {
	Name    string // A, B, ..., the largest family first
	Layout  encasement.Design
	Form    Form
	Members []Member // in the order of the items
	Shared  Bill     // with the one layout; a form shared with another family counts here too
	Apart   Bill     // each end with its own layout and form
	Saves   float64  // Apart.Price less Shared.Price
}

// Unplaced is an end for which there is no layout.
type Unplaced struct {
	Key    string
	Item   int
	Reason string
	// Nearest is the layout that carries most there and Carries what it carries;
	// nil where no stud can stand or the end itself cannot be so.
	Nearest *encasement.Design
	Carries units.Force
}

// Plan is the outcome.
type Plan struct {
	Families []Family
	Unplaced []Unplaced
	Shared   Bill    // of all families; equal form sizes count once
	Apart    Bill    // of the same ends with their own layouts; equal sizes and equal layouts count once
	Saves    float64 // Apart.Price less Shared.Price
}

// Group joins ends into families. It is greedy: from each end by itself, the two
// families whose union saves most are joined until no union saves; then single
// ends move to another family where that saves, and panels take over the size of
// a form that is there already where that saves. The outcome is not proven to be
// the cheapest: over random cases of up to six ends it was within three percent of
// the best of every way to part them, and the best itself in nearly all (see the
// tests). The same items in the same order give the same plan.
func Group(b basis.Basis, items []Item, cost Cost) Plan {
	var plan Plan
	cells, none := prepare(b, items)
	plan.Unplaced = none
	var all []*cluster
	for _, c := range solve(components(b, cells), cost) {
		all = append(all, c...)
	}
	shareForms(all, cost)
	plan.fill(all, cost)
	return plan
}

// prepare makes the own layout of each end.
func prepare(b basis.Basis, items []Item) ([]*cell, []Unplaced) {
	cells := make([]*cell, len(items))
	failed := make([]error, len(items))
	each(len(items), func(i int) { cells[i], failed[i] = newCell(b, i, items[i]) })
	var ok []*cell
	var none []Unplaced
	for i, c := range cells {
		if failed[i] == nil {
			ok = append(ok, c)
			continue
		}
		u := Unplaced{Key: items[i].Key, Item: i, Reason: failed[i].Error()}
		if no, is := errors.AsType[*encasement.NoLayout](failed[i]); is {
			u.Nearest, u.Carries = no.Nearest, no.Carries
		}
		none = append(none, u)
	}
	return ok, none
}

// cell is one end with its own layout.
type cell struct {
	item     Item
	at       int
	site     *encasement.Site
	own      encasement.Design
	volume   float64
	proposed bool
}

func newCell(b basis.Basis, i int, it Item) (*cell, error) {
	s, err := encasement.NewSite(b, it.Geometry, it.Steel, it.Demand, it.Materials)
	if err != nil {
		return nil, err
	}
	c := &cell{item: it, at: i, site: s}
	if it.Own != nil && s.Adopt(*it.Own) {
		c.own = *it.Own
	} else if c.own, err = s.Propose(); err != nil {
		return nil, err
	} else {
		c.proposed = true
	}
	c.volume = float64(c.own.Panel.Volume())
	return c, nil
}

// fill writes the plan from the clusters.
func (p *Plan) fill(all []*cluster, cost Cost) {
	for _, c := range all {
		sort.Slice(c.cells, func(i, j int) bool { return c.cells[i].at < c.cells[j].at })
	}
	sort.Slice(all, func(i, j int) bool {
		if a, b := len(all[i].cells), len(all[j].cells); a != b {
			return a > b
		}
		return all[i].cells[0].at < all[j].cells[0].at
	})
	var shared, apart tally
	for i, c := range all {
		f := Family{Name: letters(i), Layout: c.layout, Form: FormOf(c.layout)}
		var one, own tally
		for _, m := range c.cells {
			f.Members = append(f.Members, member(m, c.layout, cost))
			for _, t := range [...]*tally{&one, &shared} {
				t.add(c.layout)
			}
			for _, t := range [...]*tally{&own, &apart} {
				t.add(m.own)
			}
		}
		f.Shared, f.Apart = one.bill(cost), own.bill(cost)
		f.Saves = f.Apart.Price - f.Shared.Price
		p.Families = append(p.Families, f)
	}
	p.Shared, p.Apart = shared.bill(cost), apart.bill(cost)
	p.Saves = p.Apart.Price - p.Shared.Price
}

func member(c *cell, d encasement.Design, cost Cost) Member {
	m := Member{Key: c.item.Key, Item: c.at, Own: c.own, Proposed: c.proposed, ExtraStuds: len(d.Studs) - len(c.own.Studs),
		ExtraVolume: d.Panel.Volume() - c.own.Panel.Volume(), Result: c.site.Evaluate(d)}
	m.ExtraPrice = float64(m.ExtraStuds)*cost.Stud + float64(m.ExtraVolume)*cost.UHPC
	return m
}

// tally adds ends up; layouts and forms that are the same count once.
type tally struct {
	Bill
	layouts []encasement.Design
	forms   map[Form]bool
}

func (t *tally) add(d encasement.Design) {
	t.Ends++
	t.Studs += len(d.Studs)
	t.Volume += d.Panel.Volume()
	if t.forms == nil {
		t.forms = map[Form]bool{}
	}
	t.forms[FormOf(d)] = true
	for i := range t.layouts {
		if encasement.Compare(t.layouts[i], d).None() {
			return
		}
	}
	t.layouts = append(t.layouts, d)
}

func (t *tally) bill(cost Cost) Bill {
	out := t.Bill
	out.Layouts, out.Forms = len(t.layouts), len(t.forms)
	out.Price = float64(out.Studs)*cost.Stud + float64(out.Volume)*cost.UHPC + float64(out.Layouts)*cost.Design + float64(out.Forms)*cost.Form
	return out
}

// letters counts A to Z, then AA.
func letters(i int) string {
	s := ""
	for i++; i > 0; i = (i - 1) / 26 {
		s = string(rune('A'+(i-1)%26)) + s
	}
	return s
}

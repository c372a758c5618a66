package uhpc

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// Form is the form of one girder end.
type Form struct {
	End    string
	Net    units.Volume // concrete in it: PanelVolume with HoleVolume
	Plan   units.Area   // of the concrete seen from above, both faces
	Height units.Length
	Width  units.Length // along the girder
}

// FormOf is the form that a design asks for. holes is the area of the holes
// through the web within the panel, zero if none; web is the thickness of the web
// as built.
func FormOf(p *calc.Pad, end string, d encasement.Design, holes units.Area, web units.Length) (Form, error) {
	net, err := PanelVolume(p, d)
	if err != nil {
		return Form{}, err
	}
	hole, err := HoleVolume(p, holes, web)
	if err != nil {
		return Form{}, err
	}
	both := d.Panel.ThicknessLeft + d.Panel.ThicknessRight
	return Form{End: end, Net: net + hole, Plan: units.Area(d.Panel.Width * both), Height: d.Panel.Height, Width: d.Panel.Width}, nil
}

// Casting is what a casting has to fill and to test, before a bag is opened.
type Casting struct {
	Forms     []Form
	Specimens map[Kind]int
	// FlowTests is the number of flow tests; below zero it is one for each batch
	// as the design basis has it.
	FlowTests int
	// WindowEnd is when the track or the lane is handed back, zero if not set.
	WindowEnd time.Time
}

// BatchMass is the mass of one part in one batch of whole bags and in all batches.
type BatchMass struct {
	Part  Part
	Batch units.Mass
	All   units.Mass
}

// Amounts is what a casting takes. A batch is of whole bags, so a little more is
// mixed than is needed; water, admixtures and fiber go by the bags, so that every
// batch has the proportions of the mix of record.
type Amounts struct {
	Net, Tests, Total units.Volume
	Bag               units.Volume
	Batches           int
	PerBatch          units.Volume // that is needed of each batch
	BagsPerBatch      int
	Batch             units.Volume // that whole bags make
	Mixed             units.Volume // in all batches
	Bags              int          // to be mixed
	BagsOnSite        int          // with the spare
	Parts             []BatchMass
	Premix            units.Mass // dry, in one batch
	Forms             []FormAmounts
	Times             Times
}

var (
	netSum = calc.Define(calc.Def{Symbol: "V_n", Name: "net volume so far", Expr: "V_o + V", Dim: calc.Volume,
		Params: []calc.Param{{Symbol: "V_o", Name: "net volume of the ends before", Dim: calc.Volume}, {Symbol: "V", Name: "net volume of this end", Dim: calc.Volume}}})
	moldVolume = calc.Define(calc.Def{Symbol: "V_c", Name: "cylinders", Expr: "n*pi*d^2/4*h", Dim: calc.Volume,
		Params: []calc.Param{{Symbol: "n", Name: "number", Dim: calc.Scalar}, {Symbol: "d", Name: "diameter", Dim: calc.Length}, {Symbol: "h", Name: "height", Dim: calc.Length}}})
	cubeVolume = calc.Define(calc.Def{Symbol: "V_c", Name: "cubes", Expr: "n*b^2*h", Dim: calc.Volume,
		Params: []calc.Param{{Symbol: "n", Name: "number", Dim: calc.Scalar}, {Symbol: "b", Name: "side", Dim: calc.Length}, {Symbol: "h", Name: "height", Dim: calc.Length}}})
	flowVolume = calc.Define(calc.Def{Symbol: "V_f", Name: "flow tests", Expr: "n*pi*h/12*(D^2 + D*d + d^2)", Dim: calc.Volume,
		Params: []calc.Param{{Symbol: "n", Name: "number", Dim: calc.Scalar}, {Symbol: "h", Name: "height of the mold", Dim: calc.Length},
			{Symbol: "D", Name: "base of the mold", Dim: calc.Length}, {Symbol: "d", Name: "top of the mold", Dim: calc.Length}},
		Clause: calc.Clause{Document: "ASTM C230, mold of the flow table", Tag: basis.Memory}})
	orderVolume = calc.Define(calc.Def{Symbol: "V_m", Name: "volume needed", Expr: "V_n*(1 + k_s) + V_t", Dim: calc.Volume,
		Params: []calc.Param{{Symbol: "V_n", Name: "net volume", Dim: calc.Volume}, {Symbol: "k_s", Name: "spare", Dim: calc.Scalar}, {Symbol: "V_t", Name: "specimens and flow tests", Dim: calc.Volume}}})
	mixerFills = calc.Define(calc.Def{Symbol: "x_b", Name: "fills of the mixer", Expr: "V_m/V_mixer", Dim: calc.Scalar,
		Params: []calc.Param{{Symbol: "V_m", Name: "volume needed", Dim: calc.Volume}, {Symbol: "V_mixer", Name: "volume of the mixer", Dim: calc.Volume}}})
	batchNeed = calc.Define(calc.Def{Symbol: "V_e", Name: "volume needed of each batch", Expr: "V_m/n_b", Dim: calc.Volume,
		Params: []calc.Param{{Symbol: "V_m", Name: "volume needed", Dim: calc.Volume}, {Symbol: "n_b", Name: "batches", Dim: calc.Scalar}}})
	bagShare = calc.Define(calc.Def{Symbol: "x_bag", Name: "bags for a batch, unrounded", Expr: "V_e/V_bag", Dim: calc.Scalar,
		Params: []calc.Param{{Symbol: "V_e", Name: "volume needed of each batch", Dim: calc.Volume}, {Symbol: "V_bag", Name: "volume that a bag makes", Dim: calc.Volume}}})
	batchVolume = calc.Define(calc.Def{Symbol: "V_b", Name: "volume of a batch of whole bags", Expr: "n_bag*V_bag", Dim: calc.Volume,
		Params: []calc.Param{{Symbol: "n_bag", Name: "bags in a batch", Dim: calc.Scalar}, {Symbol: "V_bag", Name: "volume that a bag makes", Dim: calc.Volume}}})
)

// The mold of the flow test (ASTM C230 cone, dimensions from memory).
const moldTop, moldHeight = 2.75 * units.Inch, 2 * units.Inch

// mostBatches bounds a casting; more is a slip of typing in the mixer's volume.
const mostBatches = 500

// Evaluate works the casting out, with its sheet on p if p is not nil. It refuses
// a casting without a form, a number that is none, a mixer that does not take one
// bag.
func (c Casting) Evaluate(p *calc.Pad, b basis.Basis) (Amounts, error) {
	if err := c.validate(); err != nil {
		return Amounts{}, err
	}
	var a Amounts
	for i, f := range c.Forms {
		if i == 0 {
			p.Given("V", "net volume, "+f.End, calc.Volume, float64(f.Net), "design in force")
			a.Net = f.Net
		} else {
			p.Note("with " + f.End)
			a.Net = units.Volume(netSum.Eval(p, float64(a.Net), float64(f.Net)))
		}
	}
	a.Bag = Yield(p, b)
	mixer := b.Value(basis.MixerVolume)
	if !(float64(a.Bag) > 0) {
		return Amounts{}, fault.New(fault.Refused, "the yield of a bag is not known: the mix of record has no dry part")
	}
	most := int(math.Floor(mixer/float64(a.Bag) + 1e-9))
	if most < 1 {
		return Amounts{}, fault.New(fault.Refused, "the mixer of %s does not take one bag, which makes %s: a bag is never split",
			both(units.Volumes, mixer), both(units.Volumes, float64(a.Bag)))
	}
	if err := a.batches(p, c, b, mixer, most); err != nil {
		return Amounts{}, err
	}
	a.masses(p, b)
	for i, f := range c.Forms {
		if i > 0 || len(c.Forms) > 1 {
			p.Note("form of " + f.End)
		}
		a.Forms = append(a.Forms, f.amounts(p, a.Batch, b))
	}
	a.Times = timesOf(p, a.Batches, c.WindowEnd, b)
	return a, nil
}

// batches finds the number of batches and of bags. Flow tests go by the batch, so
// the volume depends on the number of batches: it grows until both agree.
func (a *Amounts) batches(p *calc.Pad, c Casting, b basis.Basis, mixer float64, most int) error {
	spare := b.Value(basis.SpareVolume)
	size := func(p *calc.Pad, n int) float64 {
		flows := c.FlowTests
		if flows < 0 {
			flows = up(b.Value(basis.FlowTestsABatch) * float64(n))
		}
		a.Tests = testVolume(p, c.Specimens, flows)
		p.Given("k_s", "spare", calc.Scalar, spare, origin(basis.SpareVolume))
		return orderVolume.Eval(p, float64(a.Net), spare, float64(a.Tests))
	}
	a.Batches = 1
	for ; ; a.Batches++ {
		if a.Batches > mostBatches {
			return fault.New(fault.Refused, "a mixer of %s would need more than %d batches for %s", both(units.Volumes, mixer), mostBatches, both(units.Volumes, float64(a.Net)))
		}
		total := size(nil, a.Batches)
		if skip := up(total / mixer); skip > a.Batches+1 {
			a.Batches = min(skip-1, mostBatches) // the rest one by one
			continue
		}
		if up(total/mixer) <= a.Batches && up(total/float64(a.Batches)/float64(a.Bag)) <= most {
			break
		}
	}
	n := float64(a.Batches)
	a.Total = units.Volume(size(p, a.Batches))
	p.Given("V_mixer", "volume of the mixer", calc.Volume, mixer, origin(basis.MixerVolume))
	mixerFills.Eval(p, float64(a.Total), mixer)
	p.Given("n_b", "batches, so that none is above the mixer or splits a bag", calc.Scalar, n, "rounded up")
	a.PerBatch = units.Volume(batchNeed.Eval(p, float64(a.Total), n))
	a.BagsPerBatch = max(1, up(bagShare.Eval(p, float64(a.PerBatch), float64(a.Bag)))) // a thimbleful takes a bag too
	p.Given("n_bag", "bags in a batch", calc.Scalar, float64(a.BagsPerBatch), "rounded up for each batch, not on the total")
	a.Batch = units.Volume(batchVolume.Eval(p, float64(a.BagsPerBatch), float64(a.Bag)))
	a.Mixed = a.Batch * units.Volume(n)
	a.Bags = a.BagsPerBatch * a.Batches
	a.BagsOnSite = a.Bags + max(a.BagsPerBatch, up(b.Value(basis.SpareBags)*float64(a.Bags)))
	p.Note(fmt.Sprintf("%d bags to be mixed, %d on site: the spare is never less than a batch", a.Bags, a.BagsOnSite))
	return nil
}

// testVolume is the volume of the specimens and the flow tests. It goes by the
// order of the table of kinds: a map's order would vary the last bits.
func testVolume(p *calc.Pad, specimens map[Kind]int, flows int) units.Volume {
	sum := 0.0
	for _, i := range kinds {
		n := float64(max(0, specimens[i.Kind]))
		switch {
		case n == 0:
		case i.Cube:
			sum += cubeVolume.Eval(p, n, float64(i.Width), float64(i.Height))
		default:
			sum += moldVolume.Eval(p, n, float64(i.Width), float64(i.Height))
		}
	}
	if flows > 0 {
		sum += flowVolume.Eval(p, float64(flows), float64(moldHeight), float64(moldBase), float64(moldTop))
	}
	p.Given("V_t", "specimens and flow tests", calc.Volume, sum, "sum of the above")
	return units.Volume(sum)
}

// masses are those of a batch of whole bags.
func (a *Amounts) masses(p *calc.Pad, b basis.Basis) {
	a.Premix = units.Mass(float64(a.BagsPerBatch) * b.Value(basis.BagMass))
	p.Given("m_dry", "dry premix in a batch", calc.Mass, float64(a.Premix), strconv.Itoa(a.BagsPerBatch)+" whole bags")
	for _, x := range Parts(b) {
		if x.Dry {
			continue
		}
		p.Note(x.Name + ": " + origin(x.Key))
		m := units.Mass(partMass.Eval(p, x.Density, float64(a.Batch)))
		a.Parts = append(a.Parts, BatchMass{Part: x, Batch: m, All: m * units.Mass(a.Batches)})
	}
}

func (c Casting) validate() error {
	v := &fault.Invalid{}
	if len(c.Forms) == 0 {
		v.Add("forms", "", "a casting fills at least one form")
	}
	for _, f := range c.Forms {
		if !(finite(float64(f.Net)) && f.Net > 0) {
			v.Add("net", f.End, "net volume of %s must be above 0, got %s", f.End, both(units.Volumes, float64(f.Net)))
		}
		if !(finite(float64(f.Plan)) && f.Plan > 0) {
			v.Add("plan", f.End, "area of %s in plan must be above 0, got %s", f.End, both(units.Areas, float64(f.Plan)))
		}
		if !(finite(float64(f.Height)) && f.Height > 0 && finite(float64(f.Width)) && f.Width >= 0) {
			v.Add("height", f.End, "height of the form of %s must be above 0 and its width not below, got %s and %s", f.End,
				both(units.Lengths, float64(f.Height)), both(units.Lengths, float64(f.Width)))
		}
	}
	for k, n := range c.Specimens {
		if info, ok := k.Info(); !ok || info.Refused != "" {
			v.Add("specimens", string(k), "no specimen of the kind %q is taken", string(k))
		} else if n < 0 || n > 1000 {
			v.Add("specimens", strconv.Itoa(n), "number of each kind must be from 0 to 1000, got %d", n)
		}
	}
	if c.FlowTests > 1000 {
		v.Add("flow_tests", strconv.Itoa(c.FlowTests), "flow tests must be at most 1000, got %d", c.FlowTests)
	}
	return v.Err()
}

package repair

import (
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// CastingForm is the form that the design in force asks for at this end, with its
// working on p if p is not nil: the panel less its studs, and the holes of the
// latest survey that lie within it. It refuses an end without a design.
func (r *Record) CastingForm(p *calc.Pad, s *Scope) (uhpc.Form, error) {
	d := r.DesignInForce()
	if d == nil {
		return uhpc.Form{}, fault.New(fault.Refused, "%s has no design: nothing says how much its form takes", r.End.Name)
	}
	holes := units.Area(0)
	if sv := r.SurveyFindings(r.LatestSurvey()); sv != nil {
		for _, h := range sv.Holes {
			holes += shared(h.X, h.Width, d.PanelX, d.PanelWidth, h.Z, h.Height, d.PanelZ, d.PanelHeight)
		}
	}
	return uhpc.FormOf(p, r.End.Name, *r.DesignOf(d), holes, r.Geometry(s).Section.WebThickness)
}

// shared is the area in which two rectangles overlap, each given by its least x
// and width and its least z and height.
func shared(x, w, px, pw, z, h, pz, ph units.Length) units.Area {
	a := min(x+w, px+pw) - max(x, px)
	b := min(z+h, pz+ph) - max(z, pz)
	if a <= 0 || b <= 0 {
		return 0
	}
	return units.Area(a * b)
}

// SpecimensToMake is the plan in force of what is made of a casting, and who set
// it: the program's own lines, or the default, with an empty source.
func (s *Scope) SpecimensToMake() (plan []uhpc.PlannedSet, source string) {
	for _, x := range s.SpecimenPlan {
		if x.Retired {
			continue
		}
		plan = append(plan, uhpc.PlannedSet{Kind: uhpc.Kind(x.Kind), Cure: uhpc.Cure(x.Curing), Duty: uhpc.Duty(x.Duty), NominalDays: x.NominalDays,
			Count: x.Count, PerBatch: x.Per == "batch", Purpose: uhpc.Purpose(x.Purpose)})
		source = x.Source + ", set by " + x.SetByName
	}
	if plan == nil {
		return uhpc.DefaultPlan(), ""
	}
	return plan, source
}

// PlannedCasting is what a casting of the ends of the scope has to fill and to
// test. Sets that are made of every batch depend on the number of batches, which
// the volume decides; the count given here is for one that has been found.
func PlannedCasting(forms []uhpc.Form, plan []uhpc.PlannedSet, batches int) uhpc.Casting {
	c := uhpc.Casting{Forms: forms, FlowTests: -1, Specimens: map[uhpc.Kind]int{}}
	for _, x := range plan {
		n := x.Count
		if x.PerBatch {
			n *= max(1, batches)
		}
		c.Specimens[x.Kind] += n
	}
	return c
}

// WorkOut works a casting of some forms out, with its sheet. Sets that are made of every
// batch add to the volume, which decides the number of batches: a few times through
// settles it in all but odd plans, and the larger number is kept. A zero end of the
// window asks for no times.
func WorkOut(forms []uhpc.Form, plan []uhpc.PlannedSet, windowEnd time.Time, b basis.Basis) (a uhpc.Amounts, pad *calc.Pad, err error) {
	batches := 1
	for range 4 {
		pad = calc.NewPad()
		c := PlannedCasting(forms, plan, batches)
		c.WindowEnd = windowEnd
		if a, err = c.Evaluate(pad, b); err != nil || a.Batches <= batches {
			return a, pad, err
		}
		batches = a.Batches
	}
	return a, pad, nil
}

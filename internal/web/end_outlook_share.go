package web

import (
	"strconv"

	"endcast/internal/domain/encasement"
	"endcast/internal/domain/units"
	"endcast/views/drawing"
	views "endcast/views/outlook"
)

// loadShare is what the design is foreseen to take from the web, as stored.
func (e *endReader) loadShare() views.Share {
	d := e.rec.DesignInForce()
	if d == nil {
		return views.Share{None: "There is no design: nothing takes load from the web."}
	}
	o := e.rec.LatestOutlook()
	if o == nil {
		return views.Share{None: notComputed}
	}
	f, ok := o.ForeseenOf()
	if !ok {
		return views.Share{None: "No load share can be foreseen for revision " + numberOf(d.Revision) + ": no stud counts, or no law of load and slip finds a balance. The checks of the design say what is wrong."}
	}
	v := views.Share{On: "revision " + numberOf(d.Revision) + ", " + revisionMark(d.State).Text}
	v.Strain = []views.Fact{{Label: "Fall of web strain below the studs", Value: partsText(f.ReductionLow, f.ReductionHigh),
		Note: "for load placed after hardening, in service: compare with strain records before and after", Foreseen: true},
		{Label: "Panel's part in service", Value: partsText(f.Service.ShareLow, f.Service.ShareHigh), Note: "of the load placed after hardening", Foreseen: true},
		{Label: "Resistance of one stud", Value: f.StudResistance.Format(e.sys, -1), Note: "factored; the hardest worked takes " + f.Service.Peak.Format(e.sys, -1) + " in service"}}
	strength := "factored reaction, the web held at its cap"
	if f.WebLost {
		strength = "factored reaction, the web path lost: the panel takes it all"
	}
	v.States = []views.ShareState{e.shareState("In service", "reaction in service, the corroded web acting", f.Service, f.StudResistance),
		e.shareState("At strength", strength, f.Strength, f.StudResistance)}
	for i, x := range []encasement.Outlook{f.Service, f.Strength} {
		for _, law := range x.Unsolved {
			v.Unsolved = append(v.Unsolved, "The law “"+law+"” found no balance "+[]string{"in service", "at strength"}[i]+": the range is of the other laws alone.")
		}
	}
	g := e.rec.Geometry(e.sc)
	draw := drawing.ShareData{ID: "share", System: e.sys, Depth: float64(g.Section.Depth), Bottom: float64(g.Section.FlangeThickness),
		Panel: [2]float64{float64(d.PanelZ), float64(d.PanelZ + d.PanelHeight)}, Resistance: float64(f.StudResistance)}
	for i, r := range f.Service.Rows {
		draw.Rows = append(draw.Rows, drawing.ShareRow{Z: float64(r.Z), Low: float64(r.Low), High: float64(r.High), WebLow: r.WebLow, WebHigh: r.WebHigh, Studs: r.Studs})
		v.Rows = append(v.Rows, views.ShareRow{Row: strconv.Itoa(i + 1), Height: r.Z.Format(e.sys, -1), Studs: strconv.Itoa(r.Studs),
			Force: e.forces(r.Low, r.High), Use: useText(r.High, f.StudResistance), Left: partsText(r.WebLow, r.WebHigh), Reduction: partsText(1-r.WebHigh, 1-r.WebLow)})
	}
	v.Chart = drawing.Share(draw)
	return v
}

func (e *endReader) shareState(name, note string, x encasement.Outlook, resistance units.Force) views.ShareState {
	out := views.ShareState{Name: name, Note: note, Total: x.Total.Format(e.sys, -1), Before: x.Before.Format(e.sys, -1), Share: partsText(x.ShareLow, x.ShareHigh),
		Panel: e.forces(x.PanelLow, x.PanelHigh), Web: e.forces(x.WebLow, x.WebHigh), Peak: x.Peak.Format(e.sys, -1), Use: useText(x.Peak, resistance) + " of its resistance",
		SlipTop: e.rate(x.SlipTop), SlipFoot: e.rate(x.SlipFoot), Closes: chanceText(x.Closure)}
	for _, l := range x.Laws {
		out.Laws = append(out.Laws, views.LawRow{Law: l.Law, Share: chanceText(l.Share), Peak: l.Peak.Format(e.sys, -1)})
	}
	return out
}

// forces is a range of forces, one where both ends print alike.
func (e *endReader) forces(low, high units.Force) string {
	if low.Format(e.sys, -1) == high.Format(e.sys, -1) {
		return high.Format(e.sys, -1)
	}
	return units.Forces.Figure(float64(low), e.sys, -1) + " to " + high.Format(e.sys, -1)
}

// partsText is a range of parts of one as percentages.
func partsText(low, high float64) string {
	if chanceText(low) == chanceText(high) {
		return chanceText(high)
	}
	return rangeText(low, high)
}

func useText(force, resistance units.Force) string {
	if !(resistance > 0) {
		return "–"
	}
	return chanceText(float64(force / resistance))
}

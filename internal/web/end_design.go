package web

import (
	"fmt"
	"slices"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/views/end"
)

// design lists the revisions of the repair, newest first, with their reviews.
func (e *endReader) design() *end.Design {
	if len(e.rec.Designs) == 0 {
		return nil
	}
	out := &end.Design{}
	if stale, why := e.rec.OutOfDate(e.sc); stale {
		out.OutOfDate = why
	}
	rows := slices.Clone(e.rec.Designs)
	slices.SortFunc(rows, func(a, b repair.Design) int { return b.Revision - a.Revision })
	inForce := e.rec.DesignInForce()
	for _, d := range rows {
		rev := end.Revision{Number: numberOf(d.Revision), State: revisionMark(d.State), Layout: e.layout(&d), By: e.name(d.DesignedBy), When: e.when(d.CreatedAt),
			Digest: shortDigest(d.InputDigest), Note: d.Note, InForce: d.ID == inForce.ID && d.State != repair.DesignDraft}
		rev.Href = e.path("designs", rev.Number)
		switch {
		case d.State == repair.DesignSubmitted && e.s.can(e.r, authz.ReviewDesign):
			rev.Review = &end.Link{Label: "Review revision " + rev.Number, Href: e.path("designs", rev.Number, "review")}
		case out.OutOfDate != "" && d.ID == inForce.ID && e.s.can(e.r, authz.ConfirmDesign):
			rev.Review = &end.Link{Label: "Confirm or answer revision " + rev.Number, Href: e.path("designs", rev.Number, "review")}
		}
		for _, x := range e.rec.Reviews {
			if x.DesignID == d.ID {
				rev.Reviews = append(rev.Reviews, end.Review{Decision: decisionMark(x.Decision), Meaning: x.Meaning, Reasons: x.Reasons, By: x.ReviewerName,
					Role: sequence.RoleWords(sequence.Role(x.ReviewerRole)), When: e.when(x.At), Digest: shortDigest(x.InputDigest)})
			}
		}
		out.Revisions = append(out.Revisions, rev)
	}
	return out
}

// layout is a revision in one line.
func (e *endReader) layout(d *repair.Design) string {
	left, right := 0, 0
	for _, st := range e.rec.StudsOf(d.ID) {
		if st.Face == "L" {
			left++
		} else {
			right++
		}
	}
	return fmt.Sprintf("%d studs (%d left, %d right) of %s, %s high; panel %s × %s, %s left and %s right; strength %s",
		left+right, left, right, d.StudDiameter.Format(e.sys, -1), d.StudHeight.Format(e.sys, -1), d.PanelWidth.Format(e.sys, -1), d.PanelHeight.Format(e.sys, -1),
		d.PanelLeft.Format(e.sys, -1), d.PanelRight.Format(e.sys, -1), d.Fc.Format(e.sys, -1))
}

package web_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// Specimens of a mock-up belong to no end: they are broken one by one and by table
// like any other, and have their report.
func TestSpecimensOfAMockupAreBroken(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	start := ago(97 * time.Hour)
	height := units.Length(760)
	placed, flow := start.Add(15*time.Minute), 9.2*units.Inch
	for _, ch := range []repair.Change{
		repair.RecordMockup{MockupIn: repair.MockupIn{CastAt: start, StandsFor: "all ends", Height: &height, LeakFree: true}},
		repair.OpenPour{StartedAt: start, Mockup: 1},
		repair.AddBatch{Pour: 1, Batch: repair.BatchIn{MixedAt: start, PlacedAt: &placed, Flow: &flow}, Specimens: []repair.SpecimenSet{{Kind: "cyl_3x6", Curing: "field", NominalDays: 4, Count: 3}}},
	} {
		_, err := p.Store.Edit(p.ctx, db.Entry{ID: newEntryID(), ProgramID: p.ID, Actor: p.Actor(authz.Inspector), Change: ch})
		require.NoError(t, err)
	}
	lab := p.Role(authz.Laboratory)
	lab.Get(p.Path("laboratory")).Status(200).Has("P001-01")
	p.broke("110")
	at := p.Path("laboratory", "specimens", "P001-02")
	lab.Post(at+"/break", pairs(typedBreak("P001-02"))...).LeadsTo(at)
	table := breakTable(tableRow("P001-03", ago(20*time.Minute), "110.9 kip"))
	lab.Post(p.Path("laboratory", "table"), "table", table).Status(200).Has("counts")
	lab.Post(p.Path("laboratory", "table", "record"), "table", table, "entry", newEntryID()).LeadsTo(p.Path("laboratory"))
	lab.Get(p.Path("laboratory", "pours", "1")).Status(200).Has("The set is sound", "3 cast, 3 broken, 3 count")
	lab.Get(p.Path("laboratory", "labels") + "?pour=1").Status(200).Has("P001-03")
	again := typedBreak("P001-01")
	lab.Post(p.Path("laboratory", "breaks"), pairs(again)...).Status(409).Has("a specimen breaks once")
}

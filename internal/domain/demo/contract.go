package demo

import (
	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
)

// contract tells what the contract sets of casting and testing.
func (t *teller) contract() {
	t.all("mixer", authz.Engineer, day(1, 13).Add(10*hour+20*minute), repair.EditBasis{Key: string(basis.MixerVolume), Value: 1.2 * 28316846.592, Typed: "1.2",
		Source: "plate of the two pan mixers that go on the platform (invented)"})
	line := func(curing string, days float64, purpose uhpc.Purpose) repair.PlannedSetIn {
		return repair.PlannedSetIn{Kind: string(uhpc.Cylinder3x6), Curing: curing, NominalDays: days, Count: 3, Per: "casting", Purpose: string(purpose)}
	}
	t.say("specimen plan", authz.Engineer, day(1, 13).Add(10*hour+40*minute), nil, repair.SetSpecimenPlan{Source: "TRR-27-014, special provision 911 (invented): three cylinders each; of the batch placed last, and of the coldest where that is another",
		Sets: []repair.PlannedSetIn{line("field", 4, uhpc.ForStrip), line("field", 7, uhpc.ForTraffic), line("standard", 28, uhpc.ForAcceptance), line("standard", 28, uhpc.Spare)}})
}

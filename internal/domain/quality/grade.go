package quality

// Grade is a grade of surface cleaning.
type Grade string

// Grades by their trade names.
const (
	SP1  Grade = "SP1"
	SP2  Grade = "SP2"
	SP3  Grade = "SP3"
	SP7  Grade = "SP7"
	SP15 Grade = "SP15"
	SP6  Grade = "SP6"
	SP11 Grade = "SP11"
	SP10 Grade = "SP10"
	SP5  Grade = "SP5"
)

// GradeInfo describes a grade. Level ranks grades by what may remain: 0 anything
// but oil, 1 loose matter gone by hand, 2 loose matter gone by power tool or brush-off blast,
// 3 stains on a third, 4 bare metal or stains on a twentieth, 5 nothing.
type GradeInfo struct {
	Grade   Grade
	Name    string
	ISO     string // name in ISO 8501-1, empty if there is none
	Remains string
	Level   int
	Blast   bool
}

// Names and what may remain: published tables of surface cleanliness standards
// (read second-hand). The levels across hand, power tool and blast are our
// proposal: owners set the level that each zone needs.
var grades = []GradeInfo{
	{SP1, "solvent cleaning", "", "no visible oil or grease; comes before every other grade", 0, false},
	{SP2, "hand tool cleaning", "St 2", "tightly adhering matter", 1, false},
	{SP3, "power tool cleaning", "St 3", "tightly adhering matter", 2, false},
	{SP7, "brush-off blast", "Sa 1", "tightly adhering matter", 2, true},
	{SP15, "commercial power tool cleaning", "", "stains on up to 33 % of each unit area; profile at least 0.001 in", 3, false},
	{SP6, "commercial blast", "Sa 2", "stains on up to 33 % of each unit area", 3, true},
	{SP11, "power tool cleaning to bare metal", "", "residue at the bottom of pits only; profile at least 0.001 in", 4, false},
	{SP10, "near-white blast", "Sa 2½", "stains on up to 5 % of each unit area", 4, true},
	{SP5, "white metal blast", "Sa 3", "nothing", 5, true},
}

// Grades lists the grades from the least to the most clean.
func Grades() []GradeInfo { return append([]GradeInfo(nil), grades...) }

// Info returns the description of a grade, and false if it is unknown.
func (g Grade) Info() (GradeInfo, bool) {
	for _, i := range grades {
		if i.Grade == g {
			return i, true
		}
	}
	return GradeInfo{}, false
}

// Zone is a part of an end that is cleaned to its own grade.
type Zone string

// Zones.
const (
	StudPositions Zone = "stud_positions" // where the studs will be welded
	EncasedArea   Zone = "encased_area"   // the rest under the panel
	OutsidePanel  Zone = "outside_panel"  // for paint
)

// Zones lists the zones in the order of pages.
func Zones() []Zone { return []Zone{StudPositions, EncasedArea, OutsidePanel} }

// Words is the zone in plain words.
func (z Zone) Words() string {
	switch z {
	case StudPositions:
		return "stud positions"
	case EncasedArea:
		return "encased area"
	case OutsidePanel:
		return "outside the panel"
	}
	return string(z)
}

// Method is how steel was cleaned.
type Method string

// Methods.
const (
	Solvent     Method = "solvent"
	HandTool    Method = "hand_tool"
	PowerTool   Method = "power_tool"
	VacuumTool  Method = "vacuum_power_tool"
	Grinder     Method = "grinder"
	DryBlast    Method = "dry_blast"
	WetBlast    Method = "wet_blast"
	WaterJet    Method = "water_jet"
	OtherMethod Method = "other"
)

// Methods lists the methods in the order of pages.
func Methods() []Method {
	return []Method{Solvent, HandTool, PowerTool, VacuumTool, Grinder, DryBlast, WetBlast, WaterJet, OtherMethod}
}

// Known reports whether m is one of the methods.
func (m Method) Known() bool {
	for _, x := range Methods() {
		if x == m {
			return true
		}
	}
	return false
}

// Rust is how much steel has rusted again since it was cleaned.
type Rust string

// Degrees of flash rust.
const (
	NoRust    Rust = "none"
	LightRust Rust = "light"
	HeavyRust Rust = "heavy"
)

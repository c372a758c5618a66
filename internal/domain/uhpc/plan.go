package uhpc

// Purpose is what a set of specimens is made for.
type Purpose string

// Purposes.
const (
	ForStrip       Purpose = "strip"       // whether the form may come off
	ForTraffic     Purpose = "traffic"     // whether traffic may return
	ForAcceptance  Purpose = "acceptance"  // the strength specified, by the running rule
	Spare          Purpose = "spare"       // broken where another set does not decide
	ForInformation Purpose = "information" // a point of the strength curve
)

// Purposes lists the purposes.
func Purposes() []Purpose {
	return []Purpose{ForStrip, ForTraffic, ForAcceptance, Spare, ForInformation}
}

// Known reports whether p is one of the purposes.
func (p Purpose) Known() bool {
	for _, x := range Purposes() {
		if x == p {
			return true
		}
	}
	return false
}

// Words is the purpose in plain words.
func (p Purpose) Words() string {
	switch p {
	case ForStrip:
		return "stripping"
	case ForTraffic:
		return "return to traffic"
	case ForAcceptance:
		return "acceptance of the strength"
	case Spare:
		return "spare set"
	case ForInformation:
		return "for information"
	}
	return string(p)
}

// PlannedSet is a set of specimens that is made of each casting, or of each batch.
type PlannedSet struct {
	Kind        Kind
	Cure        Cure
	Duty        Duty
	NominalDays float64
	Count       int
	PerBatch    bool
	Purpose     Purpose
}

// DefaultPlan is what is made where the contract's plan has not been entered. That
// several sets of three are made of each day's castings, for release, at four days, at
// 28 and to spare, is from memory; which ages and cures is our proposal.
func DefaultPlan() []PlannedSet {
	return []PlannedSet{
		{Cylinder3x6, FieldCure, QualityControl, 2, 3, false, ForStrip},
		{Cylinder3x6, FieldCure, QualityControl, 4, 3, false, ForTraffic},
		{Cylinder3x6, StandardCure, QualityControl, 28, 3, false, ForAcceptance},
		{Cylinder3x6, StandardCure, QualityControl, 28, 3, false, Spare},
	}
}

package basis

func familySetting(key Key, name string, unit Unit, def, low, high float64, source string) Key {
	return Define(Definition{Key: key, Group: "Families", Name: name, Unit: unit, Default: def, Min: low, Max: high, Source: source, Tag: Proposal})
}

// What makes ends alike enough to share one layout, and what sharing is worth.
// Prices are relative: only their proportions matter.
var (
	FamilyStud = familySetting("family.price_stud", "Relative price of a stud, welded, inspected and with its share of cleaning", Number, 1, 0, 1e6,
		"unit of the relative prices; put the program's own prices in")
	FamilyUHPC = familySetting("family.price_uhpc", "Relative price of a cubic foot of UHPC, placed", Number, 10, 0, 1e6,
		"ten studs to a cubic foot; put the program's own prices in")
	FamilyForm = familySetting("family.price_form", "Relative price of one more form size", Number, 30, 0, 1e6,
		"thirty studs; put the program's own prices in")
	FamilyDesign = familySetting("family.price_design", "Relative price of one more layout to design and review", Number, 60, 0, 1e6,
		"sixty studs; put the program's own prices in")
	FamilyDimension = familySetting("family.like_section", "Depth, flange width and bearing of ends alike, within", Length, 0.25*inch, 0, 100,
		"what a form takes up in its seals")
	FamilyThickness = familySetting("family.like_web", "Web and flange thickness as new of ends alike, within", Length, 0.05*inch, 0, 25,
		"rolling tolerance and the next shape of a group")
	FamilyPlace = familySetting("family.like_place", "Stiffener, diaphragm and bearing places of ends alike, within", Length, 0.5*inch, 0, 200,
		"one step of proposed stud places")
	FamilySkew = familySetting("family.like_skew", "Skew of ends alike, within", Angle, 5, 0, 75,
		"what the skewed room beside the panel changes by less than a step")
)

package basis

// Materials that a new design begins with. They decide nothing: the designer
// states what the design counts on.
var (
	StartDiameter = startSetting("design.stud_diameter", "Stud diameter that a new design begins with", Length, 0.75*inch, 6, 32,
		Proposal, "none; a usual size on webs of rolled girders")
	StartHeight = startSetting("design.stud_height", "Stud height after welding that a new design begins with", Length, 4*inch, 20, 300,
		Proposal, "none; more than the least height over diameter of the stud rules")
	StartFu = startSetting("design.stud_fu", "Stud tensile strength that a new design begins with", Stress, 65*ksi, 200, 1000,
		Memory, "AWS D1.1 type B studs; unconfirmed, check the mill certificate")
	StartFc = startSetting("design.fc", "UHPC strength that a new design begins with", Stress, 18*ksi, 10, 400,
		Proposal, "none; a little above the least strength that the panel rules speak of")
)

func startSetting(key Key, name string, unit Unit, def, low, high float64, tag Tag, source string) Key {
	return Define(Definition{Key: key, Group: "New designs", Name: name, Unit: unit, Default: def, Min: low, Max: high, Source: source, Tag: tag})
}

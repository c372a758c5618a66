package basis

const groupForms = "Forms and cores"

// Checks of the shift: what a form and a core are held to before they are accepted.
var (
	FormWaterTest = Define(Definition{Key: "form.water_test", Group: groupForms, Name: "Water test of a form, at least", Unit: Minutes, Default: 15, Min: 0, Max: 240,
		Source: "time enough to see a seal weep; zero where another test is agreed", Tag: Proposal})
	FormOff = Define(Definition{Key: "form.dimension_off", Group: groupForms, Name: "Form smaller than the panel of the design, at most", Unit: Length, Default: inch / 4, Min: 0, Max: 50,
		Source: "usual tolerance of formed faces", Tag: Proposal})
)

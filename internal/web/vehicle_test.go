package web_test

import (
	"net/url"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

const vehicleForm = "#vehicle-form"

// permit is a form of a vehicle that may be stored.
func permit(form url.Values) url.Values {
	form.Set("code", "P-12")
	form.Set("name", "Crane, five axles")
	form.Set("source", "permit 12, invented")
	for name, text := range map[string]string{"axles[0].load": "12", "axles[1].load": "24", "axles[1].gap": "10", "axles[2].load": "24 kip", "axles[2].gap": "4.5", "axles[2].gap_max": "6"} {
		form.Set(name, text)
	}
	return form
}

func TestPermitVehicleIsEntered(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	engineer, path := p.Role(authz.Engineer), p.Path("vehicles")
	for _, role := range []authz.Role{authz.Designer, authz.Inspector, authz.Contractor, authz.Manager} {
		p.Role(role).Get(path).Status(200).Has("HL93-TRUCK", "Special hauling vehicles").Lacks("Enter a permit vehicle")
		p.Role(role).Get(path + "/new").Status(403)
		p.Role(role).Get(p.Path("vehicles", "SU4")).Status(200).None(vehicleForm)
		p.Role(role).Post(path, "entry", newEntryID()).Status(403)
	}
	form := permit(formAt(engineer.Get(path+"/new").Status(200), vehicleForm))
	form.Set("axles[1].load", "heavy")
	form.Set("axles[2].gap_max", "3")
	back := engineer.Post(path, pressed(form, "preview")...).Status(422).Has("Crane, five axles", "permit 12, invented", "heavy")
	require.Equal(t, "heavy", formAt(back, vehicleForm).Get("axles[1].load"))
	form.Set("axles[1].load", "24")
	back = engineer.Post(path, pressed(form, "preview")...).Status(422).Has("from 4.50\u00a0ft to 328.08\u00a0ft")
	require.Equal(t, "3", formAt(back, vehicleForm).Get("axles[2].gap_max"))
	form.Set("axles[2].gap_max", "6")
	form.Set("code", "HS20")
	engineer.Post(path, pressed(form, "preview")...).Status(422).Has("Is the code of another vehicle")
	form.Set("code", "P-12")

	more := formAt(engineer.Post(path, pressed(form, "add")...).Status(200), vehicleForm)
	require.Equal(t, "4", more.Get("axles"), "three rows were filled, and one is new")
	require.Equal(t, "24 kip", more.Get("axles[2].load"), "what was typed stays as it was typed")
	seen := formAt(engineer.Post(path, pressed(more, "preview")...).Status(200).Has("What this changes"), vehicleForm)
	require.Nil(t, p.Scope("1N-1").Truck("P-12"), "nothing is stored by looking")
	seen.Set("axles[0].load", "14")
	again := engineer.Post(path, pressed(seen, "save")...).Status(200).Has("changed since you saw what it does")
	engineer.Post(path, pressed(formAt(again, vehicleForm), "save")...).LeadsTo(p.Path("vehicles", "P-12")).Follow().Has("62.0\u00a0kip", "10.0", "permit 12, invented")
	row := p.Scope("1N-1").Truck("P-12")
	require.Equal(t, []units.Force{14 * units.Kip, 24 * units.Kip, 24 * units.Kip}, row.AxleLoads)
	require.Equal(t, 6*units.Foot, row.GapsMax[2])
	require.Equal(t, "24 kip", row.Typed["axles[2].load"])
	require.Equal(t, string(demand.Permit), row.Class)
}

func TestShippedVehicleIsChangedRetiredAndTakenBack(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	engineer, path := p.Role(authz.Engineer), p.Path("vehicles", "SU4")
	first := formAt(engineer.Get(path).Status(200).Has("54", "Check against the rule in force"), vehicleForm)
	require.Equal(t, "17", first.Get("axles[2].load"))
	edit := first
	edit.Set("axles[2].load", "18")
	edit.Set("source", "state rule, read")
	engineer.Post(path, pressed(edit, "preview")...).Status(422).Has("agree with the sum of the axles, 55")
	edit.Set("gross", "55")
	seen := formAt(engineer.Post(path, pressed(edit, "preview")...).Status(200), vehicleForm)
	engineer.Post(path, pressed(seen, "save")...).LeadsTo(path).Follow().Has("Set in place of the shipped one by", "state rule, read")
	require.InDelta(t, 55, float64(p.Scope("1N-1").Truck("SU4").Vehicle().GVW()/units.Kip), 1e-9)

	// The form of before is refused beside what is stored.
	seen.Set("axles[3].load", "19")
	seen.Set("gross", "57")
	seen.Set("entry", newEntryID())
	look := engineer.Post(path, pressed(seen, "preview")...).Status(409).Has("Somebody changed this meanwhile", "Load of axle 4")
	require.Equal(t, "19", formAt(look, vehicleForm).Get("axles[3].load"))

	shipped := formAt(engineer.Post(path, pressed(formAt(engineer.Get(path), vehicleForm), "back")...).Status(200).Has("as it ships"), vehicleForm)
	require.Equal(t, "17", shipped.Get("axles[2].load"))
	seen = formAt(engineer.Post(path, pressed(shipped, "preview")...).Status(200), vehicleForm)
	engineer.Post(path, pressed(seen, "save")...).LeadsTo(path)
	require.InDelta(t, 54, float64(p.Scope("1N-1").Truck("SU4").Vehicle().GVW()/units.Kip), 1e-9)

	from := p.Scope("1N-1").TruckDigest("SU4")
	engineer.Post(path, "entry", newEntryID(), "from", from, "do", "retire").Status(422).Has("Say why the vehicle is not rated any more")
	engineer.Post(path, "entry", newEntryID(), "from", from, "do", "retire", "why", "not legal in this state").LeadsTo(p.Path("vehicles")).Follow().Has("Not rated any more", "not legal in this state")
	require.True(t, p.Scope("1N-1").Truck("SU4").Retired)
	engineer.Post(path, "entry", newEntryID(), "from", from, "do", "restore", "why", "legal again").Status(409)
	engineer.Post(path, "entry", newEntryID(), "from", p.Scope("1N-1").TruckDigest("SU4"), "do", "restore", "why", "legal again").LeadsTo(p.Path("vehicles"))
	require.False(t, p.Scope("1N-1").Truck("SU4").Retired)
	hl := p.Path("vehicles", "HL93-TRUCK")
	engineer.Get(hl).Status(200).Lacks("Take it out of the ratings")
	engineer.Post(hl, "entry", newEntryID(), "do", "retire", "why", "never mind").Status(422).Has("may be changed, not retired")
}

func TestVehiclePagesInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.DoProgram(authz.Engineer, repair.EditTruck{Truck: demand.Truck{Code: "P-7", Name: "Transformer on five axles", Class: demand.Permit, Source: "permit 7, invented",
		Axles: []demand.Axle{{Load: 14 * units.Kip}, {Load: 20 * units.Kip, Gap: 12 * units.Foot}, {Load: 20 * units.Kip, Gap: 4.5 * units.Foot}, {Load: 22 * units.Kip, Gap: 14 * units.Foot, GapMax: 30 * units.Foot}, {Load: 22 * units.Kip, Gap: 4.5 * units.Foot}}}})
	page := p.Browser(authz.Engineer)
	p.Look(page, p.Path("vehicles"), "vehicles")
	p.Look(page, p.Path("vehicles", "P-7"), "vehicle")
	p.Look(page, p.Path("vehicles", "new"), "vehicle-new")
	page.Open(p.Path("vehicles", "HL93-TRUCK"))
	page.Fill("[name='axles[1].load']", "36")
	page.Fill("[name=gross]", "76")
	page.Fill("[name=source]", "an owner's own design load, invented")
	require.Equal(t, 200, page.Submit("button[value=preview]"))
	require.Contains(t, page.Text(".whatif"), "Rating factors are computed anew")
	page.Screenshot("vehicle-preview")
	page.Axe(t)
	require.Empty(t, page.Problems())
}

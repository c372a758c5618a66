package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/web/webtest"
)

const settingFormAt = "main form.stack"

func TestBasisListsMemoryFirstAndNarrows(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	a := p.Role(authz.Manager).Get(p.Path("basis")).Status(200)
	a.Has("check against the licensed text", "Resistance factor of a stud in shear, AISC")
	rows := 0
	memory := 0
	for _, d := range basis.Definitions() {
		rows++
		if d.Tag == basis.Memory {
			memory++
		}
	}
	require.Len(t, a.Select("tr.basis-row"), rows)
	require.Contains(t, webtest.Text(a.Select("main caption")[0]), "From memory", "what nobody confirmed comes first")
	narrow := p.Role(authz.Manager).Get(p.Path("basis") + "?tag=memory").Status(200)
	require.Len(t, narrow.Select("tr.basis-row"), memory)
	p.Role(authz.Manager).Get(p.Path("basis") + "?tag=program").Status(200).Has("No setting meets this")
	p.Role(authz.Manager).Get(p.Path("basis", "no.such.key")).Status(404)
}

func TestSettingsAreShownInTheReadersUnits(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	reader := p.Role(authz.Manager)
	at := p.Path("basis", string(basis.StripStrength))
	reader.Get(at).Status(200).Has("14.0\u00a0ksi").None("form.stack")
	require.NoError(t, p.People.SetUnits(t.Context(), reader.User.ID, new("si")))
	reader.Get(at).Status(200).Has("96.53\u00a0MPa")
}

func TestSettingEditShowsWhatGoesOutOfDateFirst(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	at := p.Path("basis", string(basis.WebPhiYielding))
	for _, role := range []authz.Role{authz.Designer, authz.Inspector, authz.Contractor, authz.Laboratory, authz.Manager} {
		p.Role(role).Get(at).Status(200).None("form.stack")
		p.Role(role).Post(at, "entry", newEntryID(), "value", "0.9", "source", "x", "do", "preview").Status(403)
	}
	engineer := p.Role(authz.Engineer)
	form := formAt(engineer.Get(at).Status(200), settingFormAt)
	form.Set("value", "0.8")
	engineer.Post(at, pressed(form, "preview")...).Status(422).Has("Name the document, edition and clause")
	form.Set("source", "Owner's letter of 3 May, item 2")
	form.Set("value", "7")
	engineer.Post(at, pressed(form, "preview")...).Status(422).Has("Must lie from", `value="7"`)
	form.Set("value", "soft")
	engineer.Post(at, pressed(form, "preview")...).Status(422).Has("a plain number", `value="soft"`)
	form.Set("value", "0.8")
	preview := engineer.Post(at, pressed(form, "preview")...).Status(200)
	preview.Has("1 approved design goes out of date", "1N-1", "From 1 to 0.8.")
	require.False(t, p.End("1N-1").State[0].OutOfDate, "a preview stores nothing")

	form = formAt(preview, settingFormAt)
	form.Set("value", "0.7")
	engineer.Post(at, pressed(form, "save")...).Status(200).Has("changed since you saw what it does")
	form.Set("value", "0.8")
	engineer.Post(at, pressed(form, "save")...).LeadsTo(p.Path("basis")).Follow().Has("Owner&#39;s letter of 3 May, item 2", "set by this program", "0.8, was the default, 1")
	require.True(t, p.End("1N-1").State[0].OutOfDate)
	p.Role(authz.Manager).Get(p.Path("ends", "1N-1")).Has("out of date")
	engineer.Get(at).Has("0.8, was the default, 1")

	// Back to the default, and the approval stands again.
	form = formAt(engineer.Get(at), settingFormAt)
	require.Equal(t, "0.8", form.Get("value"))
	form.Set("value", "1")
	form.Set("source", "letter withdrawn")
	form = formAt(engineer.Post(at, pressed(form, "preview")...).Status(200).Has("1 approved design is up to date again"), settingFormAt)
	engineer.Post(at, pressed(form, "save")...).Status(303)
	require.False(t, p.End("1N-1").State[0].OutOfDate)
}

func TestDefaultIsConfirmedWithoutMovingAnything(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	admin := p.Role(authz.Administrator)
	for _, key := range []basis.Key{basis.AmbientMin, basis.FlowMin, basis.StripStrength} {
		for _, system := range []string{"us", "si"} {
			require.NoError(t, p.People.SetUnits(t.Context(), admin.User.ID, &system))
			at := p.Path("basis", string(key))
			form := formAt(admin.Get(at).Status(200), settingFormAt)
			form.Set("source", "read in the governing edition, "+system)
			form = formAt(admin.Post(at, pressed(form, "preview")...).Status(200).Has("No end changes by it"), settingFormAt)
			admin.Post(at, pressed(form, "save")...).Status(303)
		}
		d, ok := basis.Lookup(key)
		require.True(t, ok)
		set, ok := p.Scope("1N-1").Setting(string(key))
		require.True(t, ok)
		require.Equal(t, d.Default, set.Value) // to the last bit
	}
	require.Empty(t, p.Scope("1N-1").Basis().Changed())
	admin.Get(p.Path("basis") + "?tag=program").Has("read in the governing edition, si")
}

func TestSettingEditedTwiceAtOnce(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	engineer := p.Role(authz.Engineer)
	at := p.Path("basis", string(basis.WebPhiYielding))
	form := formAt(engineer.Get(at), settingFormAt)
	form.Set("value", "0.8")
	form.Set("source", "mine")
	form = formAt(engineer.Post(at, pressed(form, "preview")...).Status(200), settingFormAt)
	p.DoProgram(authz.Administrator, repair.EditBasis{Key: string(basis.WebPhiYielding), Value: 0.75, Typed: "0.75", Source: "theirs"})
	clash := engineer.Post(at, pressed(form, "save")...).Status(409).Has("theirs", "mine", "0.75", `value="0.8"`)
	form = formAt(clash, settingFormAt)
	form = formAt(engineer.Post(at, pressed(form, "preview")...).Status(200).Has("From 0.75 to 0.8."), settingFormAt)
	engineer.Post(at, pressed(form, "save")...).Status(303)
	set, _ := p.Scope("1N-1").Setting(string(basis.WebPhiYielding))
	require.Equal(t, "mine", set.Source)
}

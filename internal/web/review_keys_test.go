package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// The page of a review is worked from the keyboard: each listed key reaches what the list
// says, nothing that is typed is taken, and the keys can be turned off.
func TestReviewByKeyboard(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.alike("1N-1", "1N-2")
	x, z := 6*units.Inch, 7*units.Inch
	p.Do(authz.Inspector, "1N-1", repair.AskQuestion{DesignID: p.End("1N-1").LatestDesign().ID, Question: "Is the cope clear?", Face: "L", X: &x, Z: &z})
	page := p.Browser(authz.Engineer)
	page.SetViewport(1280, 800)

	// From the list to the first that waits, by its row.
	page.Open(p.Path("reviews"))
	page.WaitFor(`!document.querySelector("[data-keys]").hidden`)
	first := p.Path("ends", "1N-1", "designs", "1", "review")
	page.Keys("jj")
	page.WaitFor(`document.activeElement.textContent === "1N-2"`)
	page.Keys("k")
	page.WaitFor(`document.activeElement.textContent === "1N-1"`)

	require.Equal(t, 200, page.Open(first))
	page.WaitFor(`!document.querySelector("[data-keys]").hidden`)
	page.Axe(t)
	for key, at := range map[string]string{"d": "#pin-drawing", "q": "#questions", "c": ".board-checks", "?": "[data-keys]"} {
		page.Keys(key)
		page.WaitFor(`document.activeElement === document.querySelector("` + at + `")`)
	}
	// Every key in the list has something to reach, and every key that reaches something
	// is in the list.
	page.WaitFor(`(() => {
		const listed = [...document.querySelectorAll("[data-keys] kbd")].map((k) => k.textContent).filter((k) => k !== "?").sort().join();
		return listed === [...document.querySelectorAll("[data-key]")].map((e) => e.dataset.key).sort().join();
	})()`)

	// What is typed stays typed.
	page.Keys("a")
	page.WaitFor(`document.activeElement.id === "f-question"`)
	page.Keys("adeqcnlp?")
	page.WaitFor(`document.querySelector("#f-question").value === "adeqcnlp?"`)
	page.WaitFor(`document.activeElement.id === "f-question"`)
	page.Fill("#f-question", "x")
	page.WaitFor(`(document.querySelector("#f-question").value = "", delete document.querySelector("#ask").dataset.touched, document.activeElement.blur(), true)`)

	// Turned off, a key does nothing; on again, it decides.
	page.Click("[data-keys] button")
	page.WaitFor(`document.querySelector("[data-keys] button").textContent === "Turn the keys on"`)
	page.WaitFor(`(document.activeElement.blur(), true)`)
	page.Keys("e")
	page.WaitFor(`document.activeElement === document.body`)
	page.Click("[data-keys] button")
	page.WaitFor(`(document.activeElement.blur(), true)`)
	page.Keys("e ")
	page.WaitFor(`document.querySelector("[name=decision][value=approved]").checked`)
	require.Equal(t, 200, page.Submit("#decision button[type=submit]"))
	require.Equal(t, repair.DesignApproved, p.End("1N-1").LatestDesign().State)

	// On to the next that waits.
	page.Open(first)
	page.WaitFor(`!document.querySelector("[data-keys]").hidden`)
	page.Keys("n")
	page.WaitFor(`location.pathname.includes("/1N-2/")`)
	require.Empty(t, page.Problems())
}

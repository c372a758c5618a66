package web

import (
	"fmt"
	"strings"
	"time"

	"endcast/internal/db"
)

// toldSingly is how many windows of one entry are told one by one. A whole season's
// plan is one entry: told in full it would bury the entries that matter.
const toldSingly = 3

// windowsInWords says what an entry did to windows, for the list of changes: each of a
// few, and of many how many became what. A window with a reason is always told.
func windowsInWords(c db.SettingChange, zone *time.Location) string {
	var rows []windowChange
	for _, row := range c.Changes {
		if row.Table == "access_window" {
			rows = append(rows, changedWindow(row.Old, row.New, zone))
		}
	}
	if len(rows) == 0 {
		return "Saved without a change."
	}
	var out, kinds []string
	count := map[string]int{}
	for _, row := range rows {
		if len(rows) <= toldSingly || row.why != "" {
			out = append(out, row.alone())
			continue
		}
		k := row.inCount()
		if count[k] == 0 {
			kinds = append(kinds, k)
		}
		count[k]++
	}
	for i, k := range kinds {
		kinds[i] = fmt.Sprintf(k, count[k])
	}
	return sentenceCase(strings.Join(append(kinds, out...), "; ")) + "."
}

// windowChange is what happened to one window.
type windowChange struct{ kind, at, state, was, why string }

func changedWindow(old, now map[string]any, zone *time.Location) windowChange {
	w := windowChange{kind: valueText(now["kind"]), at: valueText(now["starts_at"]), state: valueText(now["state"])}
	if t, err := time.Parse(time.RFC3339, w.at); err == nil {
		w.at = t.In(zone).Format(moment)
	}
	if old != nil && old["state"] != now["state"] {
		w.was = valueText(old["state"])
	}
	if why := valueText(now["reason"]); why != "–" {
		w.why = valueText(now["party"]) + ": " + why
	}
	return w
}

func (w windowChange) alone() string {
	text := w.kind + " of " + w.at + ": " + w.state
	if w.was != "" {
		text += ", was " + w.was
	}
	if w.why != "" {
		text += " (" + w.why + ")"
	}
	return text
}

// inCount is the text of a count of such changes, with %d where the number goes.
func (w windowChange) inCount() string {
	text := strings.ReplaceAll(w.kind, "%", "%%") + ": %d " + strings.ReplaceAll(w.state, "%", "%%")
	if w.was != "" {
		text += " after " + strings.ReplaceAll(w.was, "%", "%%")
	}
	return text
}

package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/settings"
)

// settingsLog lists the latest changes of some kinds in words.
func (s *Server) settingsLog(r *http.Request, zone *time.Location, kinds ...string) ([]settings.LogLine, error) {
	list, err := s.store.SettingChanges(r.Context(), s.program(r).ID.String(), kinds, logLines)
	if err != nil {
		return nil, err
	}
	return logOf(list, s.units(r), zone), nil
}

func logOf(list []db.SettingChange, sys units.System, zone *time.Location) []settings.LogLine {
	out := make([]settings.LogLine, len(list))
	for i, c := range list {
		who := c.Actor
		if c.Role != "" {
			who += ", " + sequence.RoleWords(sequence.Role(c.Role))
		}
		who += throughWords(c.Through)
		out[i] = settings.LogLine{When: c.At.In(zone).Format("2006-01-02 15:04"), Who: who, What: changeInWords(c, sys, zone)}
	}
	return out
}

// changeInWords says what one entry of the journal did to the settings.
func changeInWords(c db.SettingChange, sys units.System, zone *time.Location) string {
	switch c.Kind {
	case "program.create":
		return "Opened the program."
	case "program.edit":
		return columnsInWords(c)
	case "mockup.accept":
		return "Accepted the trial casting: " + text(c, "note")
	case "mockup.withdraw":
		return "Withdrew the acceptance of the trial casting: " + text(c, "reason")
	case "mockup.record":
		return "Recorded a mock-up that stands for " + text(c, "stands_for") + "."
	case "mockup.correct":
		return "Corrected the record of mock-up " + text(c, "number") + ": " + text(c, "reason")
	case "mockup.decide":
		return sentenceCase(plainWord(text(c, "decision"))) + " mock-up " + text(c, "number") + "." + strings.TrimRight(" "+text(c, "reasons"), " ")
	case "mockup.roles":
		return "Named who accepts a mock-up: " + strings.Trim(text(c, "roles"), "[]") + "."
	case "basis.edit":
		return basisInWords(c, sys)
	case "assumption.edit":
		return assumptionInWords(c, sys)
	case "sequence.edit":
		return stepsInWords(c)
	case "window.set", "window.set_many":
		return windowsInWords(c, zone)
	case "plan.specimens":
		return planInWords(c)
	case "procedure.enter", "procedure.check", "procedure.force", "procedure.retire":
		return procedureInWords(c)
	case "truck.edit":
		return truckInWords(c, sys)
	case "span.demand", "span.load_parts":
		return spanInWords(c, sys)
	case "end.demand":
		return demandInWords(c)
	}
	if slices.Contains(db.PeopleActs(), c.Kind) {
		return peopleInWords(c)
	}
	return c.Kind
}

// text is one field of what was asked.
func text(c db.SettingChange, field string) string {
	asked := map[string]any{}
	_ = json.Unmarshal(c.Change, &asked)
	return fmt.Sprint(asked[field])
}

// planInWords tells a plan of specimens line by line.
func planInWords(c db.SettingChange) string {
	var ch repair.SetSpecimenPlan
	_ = json.Unmarshal(c.Change, &ch)
	if len(ch.Sets) == 0 {
		return "Went back to the default plan of specimens: " + ch.Source
	}
	var out []string
	for _, x := range ch.Sets {
		per := "a casting"
		if x.Per == "batch" {
			per = "each batch"
		}
		out = append(out, fmt.Sprintf("%d %s, %s, %s, of %s, for %s", x.Count, kindName(x.Kind), cureWords(x.Curing), ageText(24*x.NominalDays), per, uhpc.Purpose(x.Purpose).Words()))
	}
	return "Plan of specimens: " + strings.Join(out, "; ") + ". Source: " + ch.Source
}

func columnsInWords(c db.SettingChange) string {
	var out []string
	for _, row := range c.Changes {
		for _, f := range programFields {
			if label := programLabels[f]; label != "" && fmt.Sprint(row.Old[f]) != fmt.Sprint(row.New[f]) {
				out = append(out, fmt.Sprintf("%s: %s, was %s", label, valueText(row.New[f]), valueText(row.Old[f])))
			}
		}
	}
	if len(out) == 0 {
		return "Saved without a change."
	}
	return strings.Join(out, "; ") + "."
}

func valueText(v any) string {
	switch x := v.(type) {
	case nil:
		return "–"
	case string:
		if x == "" {
			return "–"
		}
		return strings.TrimSuffix(x, "T00:00:00Z")
	}
	return fmt.Sprint(v)
}

func basisInWords(c db.SettingChange, sys units.System) string {
	var ch repair.EditBasis
	_ = json.Unmarshal(c.Change, &ch)
	d, ok := basis.Lookup(basis.Key(ch.Key))
	if !ok {
		return ch.Key + ", a setting that this release does not know."
	}
	was := "the default, " + settingValue(d, d.Default, sys)
	for _, row := range c.Changes {
		if v, ok := row.Old["value"].(float64); ok && row.Table == "basis_setting" {
			was = settingValue(d, v, sys)
		}
	}
	return fmt.Sprintf("%s: %s, was %s. Source: %s", sentenceCase(d.Name), settingValue(d, ch.Value, sys), was, ch.Source)
}

func stepsInWords(c db.SettingChange) string {
	var old, now []sequence.Step
	for _, row := range c.Changes {
		if row.Table != "step" {
			continue
		}
		if row.Old != nil {
			old = append(old, stepOfRow(row.Old))
		}
		if st := stepOfRow(row.New); !st.Retired {
			now = append(now, st)
		}
	}
	var out []string
	for _, d := range sequence.Differences(old, now) {
		if !strings.HasPrefix(d.Text, "moves ") { // the rows of an entry are not the whole order
			out = append(out, d.Step+" "+strings.SplitN(d.Text, " at place ", 2)[0])
		}
	}
	if len(out) == 0 {
		return "Put the steps in another order."
	}
	return strings.Join(out, "; ") + "."
}

// stepOfRow reads a step from the journal.
func stepOfRow(row map[string]any) sequence.Step {
	var st repair.StepRow
	b, err := json.Marshal(row)
	if err == nil {
		_ = json.Unmarshal(b, &st)
	}
	return st.Step()
}

func peopleInWords(c db.SettingChange) string {
	p := db.PeopleChangeOf(c)
	who := p.Name + " (" + p.Email + ")"
	switch c.Kind {
	case db.PeopleAdd:
		if p.Account != "" {
			return "Opened an account for " + who + ", here as " + sequence.RoleWords(p.Role) + "."
		}
		return "Added " + who + " as " + sequence.RoleWords(p.Role) + "."
	case db.PeopleRole:
		return who + " is " + sequence.RoleWords(p.Role) + ", was " + sequence.RoleWords(p.Was) + "."
	case db.PeopleRemove:
		return "Took " + who + " out of the program, who was " + sequence.RoleWords(p.Was) + "."
	case db.PeopleToken:
		return who + " made the token “" + p.Token + "” (" + strings.Join(p.Scopes, ", ") + ")."
	case db.PeopleRevoke:
		return "Revoked the token “" + p.Token + "” of " + who + "."
	case db.PeopleSignOut:
		return "Signed " + who + " out everywhere."
	case db.PeopleDisable:
		return "Shut the account of " + who + "."
	}
	return "Opened the account of " + who + " again."
}

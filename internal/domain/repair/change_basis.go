package repair

import (
	"slices"
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
)

// EditBasis changes one setting of the design basis, with its source.
type EditBasis struct {
	Key    string  `json:"key"`
	Value  float64 `json:"value"`
	Typed  string  `json:"typed"`
	Source string  `json:"source"`
	// From is the SettingDigest that the edit was made from; empty asks for no
	// comparison.
	From string `json:"from,omitempty"`
}

// Kind implements Change.
func (EditBasis) Kind() string { return "basis.edit" }

const longestSource = 500

// rulesTests tells whether a setting belongs to the rule by which strengths are
// accepted.
func rulesTests(key string) bool {
	switch basis.Key(key) {
	case basis.AcceptanceRule, basis.SingleOfSpecified, basis.IdentitySingle, basis.IdentityFew, basis.IdentityMore, basis.IdentityDays, basis.ProductionInitial,
		basis.ProductionFactor, basis.ProductionResults, basis.ProductionDeviationResults:
		return true
	}
	return false
}

// Want implements Wanting: another rule of acceptance judges the tests on record anew.
func (ch EditBasis) Want() Want { return Want{Tests: rulesTests(ch.Key)} }

// Apply implements Change. Every end of the scope is recomputed with it.
func (ch EditBasis) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	need(&bad, "source", ch.Source, "name the document, edition and clause that the value comes from")
	if n := len([]rune(ch.Source)); n > longestSource {
		bad.Add("source", ch.Source, "has %d characters, at most %d", n, longestSource)
	}
	if _, ok := basis.Lookup(basis.Key(ch.Key)); !ok {
		bad.Add("key", ch.Key, "no setting of that name")
	} else if _, err := s.Basis().With(basis.Key(ch.Key), ch.Value); err != nil {
		bad.Add("value", ch.Typed, "%s", strings.TrimPrefix(err.Error(), "design basis: "))
	}
	if err := bad.Err(); err != nil {
		return err
	}
	if err := from(ch.From, s.SettingDigest(ch.Key), "this setting"); err != nil {
		return err
	}
	row := BasisSetting{ProgramID: s.Program.ID, Key: ch.Key, Value: ch.Value, Typed: ch.Typed, Source: ch.Source, SetBy: c.Actor.ID, SetAt: c.Now}
	if i := slices.IndexFunc(s.Settings, func(x BasisSetting) bool { return x.Key == ch.Key }); i >= 0 {
		s.Settings[i] = row
	} else {
		s.Settings = append(s.Settings, row)
	}
	s.Changed()
	if rulesTests(ch.Key) {
		s.raiseForTests(c)
	}
	return nil
}

// Setting is what the program stored of a setting, and false where the default
// stands untouched.
func (s *Scope) Setting(key string) (BasisSetting, bool) {
	for _, x := range s.Settings {
		if x.Key == key {
			return x, true
		}
	}
	return BasisSetting{}, false
}

// SettingDigest names a setting as it stands, for an edit to say what it was
// made from.
func (s *Scope) SettingDigest(key string) string {
	row, set := s.Setting(key)
	return calc.Digest([]any{key, set, row.Value, row.Source, row.SetAt})
}

package repair

// SubmitDraft saves what the designer has on the screen and puts it before the
// owner's engineer in one entry, so that what is reviewed is what was looked at.
type SubmitDraft struct {
	Design DesignIn `json:"design"`
}

// Kind implements Change.
func (SubmitDraft) Kind() string { return "design.submit" }

// Apply implements Change. It refuses what SaveDesign and SubmitDesign refuse;
// then nothing is saved either.
func (ch SubmitDraft) Apply(s *Scope, c Context) error {
	if err := (SaveDesign(ch)).Apply(s, c); err != nil {
		return err
	}
	return SubmitDesign{}.Apply(s, c)
}

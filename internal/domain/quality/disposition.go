package quality

import "endcast/internal/domain/authz"

// Disposition is what is to become of work that does not meet its requirement.
type Disposition string

// Dispositions.
const (
	UseAsIs Disposition = "use_as_is"
	Repair  Disposition = "repair"
	Rework  Disposition = "rework"
	Reject  Disposition = "reject"
)

// DispositionInfo describes a disposition and who may decide it.
type DispositionInfo struct {
	Disposition Disposition
	Name        string
	Means       string
	Authority   []authz.Role
	// Concession: the work keeps a departure from its requirement, so that the
	// reason why it is fit must be written.
	Concession bool
	// Work: something is done and looked at again before closing.
	Work bool
}

// The four ways and their meaning are common practice, no source; who may decide
// is our proposal and the default of Authorities.
var dispositions = []DispositionInfo{
	{UseAsIs, "use as is", "does not meet the requirement, is shown to be fit, and stays", []authz.Role{authz.Engineer}, true, false},
	{Repair, "repair", "made fit, and still does not meet the requirement as written", []authz.Role{authz.Engineer}, true, true},
	{Rework, "rework", "brought fully to the requirement", []authz.Role{authz.Engineer, authz.Inspector, authz.Contractor}, false, true},
	{Reject, "reject", "taken out and replaced", []authz.Role{authz.Engineer, authz.Inspector, authz.Contractor}, false, true},
}

// Dispositions lists the dispositions.
func Dispositions() []DispositionInfo { return append([]DispositionInfo(nil), dispositions...) }

// Info returns the description of a disposition, and false if it is unknown.
func (d Disposition) Info() (DispositionInfo, bool) {
	for _, i := range dispositions {
		if i.Disposition == d {
			return i, true
		}
	}
	return DispositionInfo{}, false
}

// Words is the disposition in plain words.
func (d Disposition) Words() string {
	if i, ok := d.Info(); ok {
		return i.Name
	}
	return string(d)
}

// Authorities says which roles may decide which disposition. A nil map means the
// defaults; a disposition that is not in the map has its default.
type Authorities map[Disposition][]authz.Role

// Of returns the roles that may decide d.
func (a Authorities) Of(d Disposition) []authz.Role {
	if r, ok := a[d]; ok {
		return append([]authz.Role(nil), r...)
	}
	i, _ := d.Info()
	return append([]authz.Role(nil), i.Authority...)
}

func (a Authorities) allows(d Disposition, r authz.Role) bool {
	for _, x := range a.Of(d) {
		if x == r {
			return true
		}
	}
	return false
}

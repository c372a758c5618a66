package sequence

import "endcast/internal/domain/authz"

// Role is what a person is on the program.
type Role = authz.Role

// The roles.
const (
	Administrator = authz.Administrator
	Engineer      = authz.Engineer // the owner's engineer
	Designer      = authz.Designer
	Inspector     = authz.Inspector
	Contractor    = authz.Contractor
	Laboratory    = authz.Laboratory
	Manager       = authz.Manager
)

var roleWords = map[Role]string{
	Administrator: "administrator",
	Engineer:      "owner's engineer",
	Designer:      "designer",
	Inspector:     "inspector",
	Contractor:    "contractor",
	Laboratory:    "laboratory",
	Manager:       "manager",
}

// RoleWords is the role in plain words.
func RoleWords(r Role) string {
	if w := roleWords[r]; w != "" {
		return w
	}
	return string(r)
}

func hasRole(list []Role, r Role) bool {
	for _, x := range list {
		if x == r {
			return true
		}
	}
	return false
}

// rolesInWords joins roles as "inspector or contractor".
func rolesInWords(list []Role) string {
	switch len(list) {
	case 0:
		return "nobody"
	case 1:
		return RoleWords(list[0])
	}
	s := RoleWords(list[0])
	for i, r := range list[1:] {
		if i == len(list)-2 {
			s += " or " + RoleWords(r)
		} else {
			s += ", " + RoleWords(r)
		}
	}
	return s
}

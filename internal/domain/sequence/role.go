package sequence

// Role is what a person is on the program.
type Role string

// The roles.
const (
	Administrator Role = "administrator"
	Engineer      Role = "engineer" // the owner's engineer
	Designer      Role = "designer"
	Inspector     Role = "inspector"
	Contractor    Role = "contractor"
	Laboratory    Role = "laboratory"
	Manager       Role = "manager"
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

// Roles lists every role in the order in which pages show them.
func Roles() []Role {
	return []Role{Engineer, Designer, Inspector, Contractor, Laboratory, Manager, Administrator}
}

// Known reports whether r is one of the roles.
func (r Role) Known() bool { return roleWords[r] != "" }

// Words is the role in plain words.
func (r Role) Words() string {
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
		return list[0].Words()
	}
	s := list[0].Words()
	for i, r := range list[1:] {
		if i == len(list)-2 {
			s += " or " + r.Words()
		} else {
			s += ", " + r.Words()
		}
	}
	return s
}

package design

import "github.com/a-h/templ"

func (s Stud) field(column string) string { return "stud-" + s.N + "-" + column }

func (s Stud) id(column string) string { return "f-" + s.field(column) }

func (s Stud) attrs(column string) templ.Attributes {
	a := templ.Attributes{}
	if s.Reasons[column] != "" {
		a["aria-invalid"] = "true"
		a["aria-describedby"] = s.id(column) + "-why"
	}
	return a
}

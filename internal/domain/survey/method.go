package survey

import "strings"

// MethodOf recognises the method that a person named in free words. What it does
// not know is Unstated, and then counts as the least exact of the usual ones.
func MethodOf(words string) Method {
	w := strings.ToLower(words)
	for _, m := range []struct {
		method Method
		parts  []string
	}{
		{PitGauge, []string{"pit", "depth gauge", "depth gage"}},
		{Ultrasonic, []string{"ultraso", "ut", "d-meter", "echo"}},
		{Caliper, []string{"calip", "callip", "micrometer", "vernier"}},
	} {
		for _, p := range m.parts {
			if p == "ut" {
				for _, f := range strings.FieldsFunc(w, func(r rune) bool { return r < 'a' || r > 'z' }) {
					if f == p {
						return m.method
					}
				}
			} else if strings.Contains(w, p) {
				return m.method
			}
		}
	}
	return Unstated
}

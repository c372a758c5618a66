package drawing

import "slices"

// Phase is the coarse state of an end: the steps of an owner's sequence fold into
// eight of them, so that a plan can be read at a glance.
type Phase uint8

// Phases, in the order of the work. An end is in the phase whose step comes next
// at it.
const (
	NotStarted Phase = iota
	Preparing        // cleaning and measuring
	Designing
	Studding
	Forming
	Casting // and curing
	Verifying
	Closed
	phaseCount
)

// mnemonic data of each phase. The shape hints at the work: a bare site, a
// triangle of the survey, a sheet turned on its corner, the hexagon of a head, a
// trough, a drop, a shield, a full stop.
var phases = [phaseCount]struct {
	letter, key, words string
	d                  string  // shape about the origin, some 20 px across
	drop               float64 // baseline of the letter
}{
	NotStarted: {"N", "none", "not started", "M-8.5-8.5H8.5V8.5H-8.5Z", 4},
	Preparing:  {"M", "prepare", "cleaning and measuring", "M0-11.5 11.5 8.5H-11.5Z", 6},
	Designing:  {"D", "design", "design", "M0-12 12 0 0 12-12 0Z", 4},
	Studding:   {"S", "studs", "studs", "M-5.5-9.5H5.5L11 0 5.5 9.5H-5.5L-11 0Z", 4},
	Forming:    {"F", "form", "forming", "M-12-8.5H12L7.5 8.5H-7.5Z", 4},
	Casting:    {"P", "cast", "pouring and curing", "M0-13C3.5-7 10-3 10 2.5A10 8.5 0 0 1-10 2.5C-10-3-3.5-7 0-13Z", 6.5},
	Verifying:  {"V", "verify", "strength and verification", "M-9.5-9.5H9.5V1C9.5 6.5 4 9.5 0 12-4 9.5-9.5 6.5-9.5 1Z", 4},
	Closed:     {"C", "closed", "closed", "M-10 0A10 10 0 1 1 10 0 10 10 0 1 1-10 0Z", 4},
}

func (p Phase) known() Phase {
	if p >= phaseCount {
		return NotStarted
	}
	return p
}

// String is the phase in words.
func (p Phase) String() string { return phases[p.known()].words }

// Letter is the letter inside the mark of the phase.
func (p Phase) Letter() string { return phases[p.known()].letter }

// Key is the phase in one word, for class names.
func (p Phase) Key() string { return phases[p.known()].key }

// Phases lists all phases in the order of the work.
func Phases() []Phase {
	out := make([]Phase, phaseCount)
	for i := range out {
		out[i] = Phase(i)
	}
	return out
}

// codes are the steps of the sequence that a program starts from.
var codes = map[string]Phase{
	"ACC": NotStarted,
	"CLN": Preparing, "MSR": Preparing,
	"DES": Designing,
	"WLD": Studding, "COL": Studding, "GAU": Studding,
	"COR": Forming, "FRM": Forming, "REL": Forming,
	"CST": Casting, "CUR": Casting,
	"STR": Verifying, "HRD": Verifying, "TRF": Verifying, "LDP": Verifying, "CLS": Verifying,
}

// PhaseOf is the phase of an end whose next step has the given code; closed wins
// over it. A code of the owner's own takes its phase from its place in the
// sequence, given as the codes in order: that of the nearest known step before it,
// or, where none is known, its share of the way. Without a sequence an unknown
// code reads as not started: nothing then claims work that may not have been done.
func PhaseOf(stepCode string, closed bool, sequence ...string) Phase {
	if closed {
		return Closed
	}
	if p, ok := codes[stepCode]; ok {
		return p
	}
	i := slices.Index(sequence, stepCode)
	if i < 0 {
		return NotStarted
	}
	known := false
	for j := i - 1; j >= 0; j-- {
		if p, ok := codes[sequence[j]]; ok {
			return p
		}
	}
	for _, c := range sequence[i+1:] {
		if _, ok := codes[c]; ok {
			known = true
			break
		}
	}
	if known {
		return NotStarted
	}
	return Phase(i * int(Closed) / len(sequence))
}

package sequence

import "time"

// Pass is one finished step of an end: when the end came to it and when it was
// finished for good. Time lost to returns and reopenings is in it.
type Pass struct {
	Step     Step
	From, To time.Time
}

// Passes returns the finished steps in order. An end comes to a step when the last
// of the steps before it is finished, or when it joined the program; a step that was
// finished before that took no time.
func (s Status) Passes(started time.Time) []Pass {
	var out []Pass
	came := started
	for _, st := range s.All {
		at, ok := st.finished()
		if !ok || st.State != Done {
			continue
		}
		p := Pass{Step: st.Step, From: came, To: at}
		if p.From.After(at) {
			p.From = at
		}
		out = append(out, p)
		if at.After(came) {
			came = at
		}
	}
	return out
}

// Waits reports whether the step still asks something of someone.
func (s Standing) Waits() bool { return s.waits() }

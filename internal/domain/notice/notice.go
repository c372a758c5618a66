// Package notice says what a person is to be told of a program, in sentences: what
// waits for them, what went out of date, breaks that are due, windows soon that lack
// something. It knows no clock and no address; who asks brings the facts.
package notice

import (
	"cmp"
	"fmt"
	"slices"
	"time"
)

// Kind is a subject that a person may choose to be told of.
type Kind string

// Kinds.
const (
	Waiting  Kind = "waiting"
	Outdated Kind = "outdated"
	Breaks   Kind = "breaks"
	Windows  Kind = "windows"
)

// Kinds lists the subjects in the order in which they are told.
func Kinds() []Kind { return []Kind{Windows, Outdated, Breaks, Waiting} }

// Words is the subject in plain words.
func (k Kind) Words() string {
	switch k {
	case Waiting:
		return "what waits for me"
	case Outdated:
		return "designs that went out of date"
	case Breaks:
		return "breaks that are due or late"
	case Windows:
		return "access windows within three days that lack something"
	}
	return string(k)
}

// Known reports whether k is one of the subjects.
func (k Kind) Known() bool { return slices.Contains(Kinds(), k) }

// Soon is how near a window must be to be told of.
const Soon = 72 * time.Hour

// Facts are what a program has for one person.
type Facts struct {
	Role    string   // in plain words, as in "the inspector"
	Decides bool     // reviews designs
	Reviews int      // designs that wait for a decision
	Waits   []Waits  // ends whose next act is this role's
	Ends    []string // whose approved design is out of date, the first few
	EndsAll int      // how many there are
	Late    int      // specimens whose window of breaking closed without a break
	Due     int      // specimens whose window is open
	Windows []Window
}

// Waits is a number of ends that one thing holds up.
type Waits struct {
	Words  string // what is missing
	Reason string // its key
	Count  int
	First  string // the end that waits longest
	Days   int    // how long it has
}

// Window is an access window that begins soon.
type Window struct {
	Words   string        // kind and times
	In      time.Duration // until it begins; below zero while it lasts
	State   string        // planned, granted, shortened
	Unsaid  []string      // confirmations that are missing
	Blocked []string      // ends chosen for it that something other than access stops
}

// Page is where an item is looked into, as a part of the program's address.
type Page string

// Pages.
const (
	PageReviews    Page = "reviews"
	PageEnds       Page = "ends"
	PageLaboratory Page = "laboratory"
	PageWindows    Page = "windows"
)

// Item is one thing to be told.
type Item struct {
	Kind   Kind
	Urgent bool
	Text   string
	Page   Page
	Reason string // of the list of ends, where the page is that
}

// List is what is to be told of the subjects chosen, the urgent first, in the order of
// Kinds within.
func List(f Facts, chosen []Kind) []Item {
	var out []Item
	for _, k := range Kinds() {
		if !slices.Contains(chosen, k) {
			continue
		}
		switch k {
		case Waiting:
			out = append(out, waiting(f)...)
		case Outdated:
			if f.EndsAll > 0 {
				out = append(out, Item{k, true, outdated(f), PageReviews, ""})
			}
		case Breaks:
			if f.Late > 0 {
				out = append(out, Item{k, true, specimens(f.Late) + " late: the window of the break has closed", PageLaboratory, ""})
			}
			if f.Due > 0 {
				out = append(out, Item{k, false, specimens(f.Due) + " due now", PageLaboratory, ""})
			}
		case Windows:
			out = append(out, windows(f)...)
		}
	}
	slices.SortStableFunc(out, func(a, b Item) int { return cmp.Compare(urgency(a), urgency(b)) })
	return out
}

func urgency(i Item) int {
	if i.Urgent {
		return 0
	}
	return 1
}

func waiting(f Facts) []Item {
	var out []Item
	if f.Decides && f.Reviews > 0 {
		out = append(out, Item{Waiting, false, number(f.Reviews, "design waits", "designs wait") + " for review", PageReviews, ""})
	}
	for _, w := range f.Waits {
		text := fmt.Sprintf("%s for the %s: %s", number(w.Count, "end waits", "ends wait"), f.Role, w.Words)
		if w.First != "" {
			text += fmt.Sprintf("; %s longest, %s", w.First, number(w.Days, "day", "days"))
		}
		out = append(out, Item{Waiting, false, text, PageEnds, w.Reason})
	}
	return out
}

func outdated(f Facts) string {
	text := "the approved design is out of date at " + number(f.EndsAll, "end", "ends") + ": " + list(f.Ends)
	if more := f.EndsAll - len(f.Ends); more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

func windows(f Facts) []Item {
	var out []Item
	for _, w := range f.Windows {
		var red []string
		if w.State == "planned" {
			red = append(red, "it is not granted yet")
		}
		if len(w.Unsaid) > 0 {
			red = append(red, "not confirmed: "+list(w.Unsaid))
		}
		if len(w.Blocked) > 0 {
			red = append(red, "chosen ends that something stops: "+list(w.Blocked))
		}
		if len(red) == 0 || w.In > Soon {
			continue
		}
		text := w.Words + ", " + within(w.In) + ": " + red[0]
		for _, r := range red[1:] {
			text += "; " + r
		}
		out = append(out, Item{Windows, w.In < 24*time.Hour, text, PageWindows, ""})
	}
	return out
}

func within(d time.Duration) string {
	switch h := int(d.Hours()); {
	case d < 0:
		return "under way"
	case h < 48:
		return "in " + number(h, "hour", "hours")
	default:
		return "in " + number(h/24, "day", "days")
	}
}

func specimens(n int) string { return number(n, "specimen is", "specimens are") }

func number(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func list(of []string) string {
	out := ""
	for i, s := range of {
		switch {
		case i == 0:
		case i == len(of)-1:
			out += " and "
		default:
			out += ", "
		}
		out += s
	}
	return out
}

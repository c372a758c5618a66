package repair

import "time"

// Shifts is what a program plans its access windows with. The store brings it only for changes that want it.
type Shifts struct {
	Kinds         []WindowKind
	Confirmations []WindowConfirmation
	Crews         []Crew
	Efforts       []StepEffort
	Stock         []ShiftStock
	Choices       []WindowChoice
	Promises      []Promise // those not settled, and those of the windows in hand
	Exclusions    []WindowExclusion
}

// WindowKind is what the owner of a program says of one kind of access.
type WindowKind struct {
	ID            string   `db:"id" json:"id"`
	ProgramID     string   `db:"program_id" json:"program_id"`
	Name          string   `db:"name" json:"name"` // as ends and windows name it
	Confirmations []string `db:"confirmations" json:"confirmations"`
	SetupMin      int      `db:"setup_min" json:"setup_min"`
	HandbackMin   int      `db:"handback_min" json:"handback_min"`
	EveryDays     float64  `db:"every_days" json:"every_days"` // between windows; 0: as the calendar shows
	Note          string   `db:"note" json:"note"`
}

// WindowConfirmation is one thing that somebody confirmed before work in a window.
type WindowConfirmation struct {
	ID           string     `db:"id" json:"id"`
	ProgramID    string     `db:"program_id" json:"program_id"`
	WindowID     string     `db:"window_id" json:"window_id"`
	Item         string     `db:"item" json:"item"`
	Note         string     `db:"note" json:"note"`
	ByUser       string     `db:"by_user" json:"by_user"`
	ByName       string     `db:"by_name" json:"by_name"`
	ByRole       string     `db:"by_role" json:"by_role"`
	CapturedAt   time.Time  `db:"captured_at" json:"captured_at"`
	ArrivedAt    time.Time  `db:"arrived_at" json:"arrived_at"`
	WithdrawnWhy string     `db:"withdrawn_why" json:"withdrawn_why"`
	WithdrawnBy  string     `db:"withdrawn_by" json:"withdrawn_by"`
	WithdrawnAt  *time.Time `db:"withdrawn_at" json:"withdrawn_at"`
}

// Crew is a gang that works in windows.
type Crew struct {
	ID        string   `db:"id" json:"id"`
	ProgramID string   `db:"program_id" json:"program_id"`
	Name      string   `db:"name" json:"name"`
	Trades    []string `db:"trades" json:"trades"`
	Kinds     []string `db:"kinds" json:"kinds"` // of access it works in; none: all
	Note      string   `db:"note" json:"note"`
	Retired   bool     `db:"retired" json:"retired"`
}

// StepEffort is what one step takes of a crew.
type StepEffort struct {
	ProgramID string         `db:"program_id" json:"program_id"`
	StepID    string         `db:"step_id" json:"step_id"`
	Minutes   int            `db:"minutes" json:"minutes"`
	Trades    []string       `db:"trades" json:"trades"` // a crew needs one of them; none: any crew
	Uses      map[string]int `db:"uses" json:"uses"`     // of the stock, by name
	Source    string         `db:"source" json:"source"`
}

// ShiftStock is how many of a thing are on hand: forms, cores, moulds.
type ShiftStock struct {
	ProgramID string `db:"program_id" json:"program_id"`
	Name      string `db:"name" json:"name"`
	OnHand    int    `db:"on_hand" json:"on_hand"`
	Note      string `db:"note" json:"note"`
}

// WindowChoice is what a person decided for one end in one window.
type WindowChoice struct {
	ID          string     `db:"id" json:"id"`
	ProgramID   string     `db:"program_id" json:"program_id"`
	WindowID    string     `db:"window_id" json:"window_id"`
	EndID       string     `db:"end_id" json:"end_id"`
	CrewID      *string    `db:"crew_id" json:"crew_id"` // nil: the end is left out
	Steps       int        `db:"steps" json:"steps"`
	Reason      string     `db:"reason" json:"reason"`
	ByUser      string     `db:"by_user" json:"by_user"`
	ByName      string     `db:"by_name" json:"by_name"`
	ByRole      string     `db:"by_role" json:"by_role"`
	At          time.Time  `db:"at" json:"at"`
	WithdrawnBy string     `db:"withdrawn_by" json:"withdrawn_by"`
	WithdrawnAt *time.Time `db:"withdrawn_at" json:"withdrawn_at"`
}

// States of a promise.
const (
	PromiseOpen      = "promised"
	PromiseKept      = "kept"
	PromiseSlipped   = "slipped"
	PromiseWithdrawn = "withdrawn"
)

// Promise is one step of one end promised for one window: all or nothing.
type Promise struct {
	ID        string     `db:"id" json:"id"`
	ProgramID string     `db:"program_id" json:"program_id"`
	WindowID  string     `db:"window_id" json:"window_id"`
	EndID     string     `db:"end_id" json:"end_id"`
	StepID    string     `db:"step_id" json:"step_id"`
	CrewID    *string    `db:"crew_id" json:"crew_id"`
	Needs     string     `db:"needs" json:"needs"`
	Owner     string     `db:"owner" json:"owner"`
	NeededBy  *time.Time `db:"needed_by" json:"needed_by"`
	Ready     bool       `db:"ready" json:"ready"`
	ByUser    string     `db:"by_user" json:"by_user"`
	ByName    string     `db:"by_name" json:"by_name"`
	ByRole    string     `db:"by_role" json:"by_role"`
	At        time.Time  `db:"at" json:"at"`
	State     string     `db:"state" json:"state"`
	Why       string     `db:"why" json:"why"`
	Cause     string     `db:"cause" json:"cause"`
	SettledBy string     `db:"settled_by" json:"settled_by"`
	SettledAt *time.Time `db:"settled_at" json:"settled_at"`
}

// WindowExclusion leaves a past window out of the forecast's sample.
type WindowExclusion struct {
	ID          string     `db:"id" json:"id"`
	ProgramID   string     `db:"program_id" json:"program_id"`
	WindowID    string     `db:"window_id" json:"window_id"`
	Reason      string     `db:"reason" json:"reason"`
	ByUser      string     `db:"by_user" json:"by_user"`
	ByName      string     `db:"by_name" json:"by_name"`
	ByRole      string     `db:"by_role" json:"by_role"`
	At          time.Time  `db:"at" json:"at"`
	WithdrawnBy string     `db:"withdrawn_by" json:"withdrawn_by"`
	WithdrawnAt *time.Time `db:"withdrawn_at" json:"withdrawn_at"`
}

// clone copies the lists, so that a change to the copy leaves the original.
func (s Shifts) clone() Shifts {
	return Shifts{append([]WindowKind(nil), s.Kinds...), append([]WindowConfirmation(nil), s.Confirmations...), append([]Crew(nil), s.Crews...),
		append([]StepEffort(nil), s.Efforts...), append([]ShiftStock(nil), s.Stock...), append([]WindowChoice(nil), s.Choices...),
		append([]Promise(nil), s.Promises...), append([]WindowExclusion(nil), s.Exclusions...)}
}

// forShifts is what every change of the shifts wants: no end is recomputed for it.
type forShifts struct{}

// Reach implements Reaching.
func (forShifts) Reach() Reach { return Reach{Alone: true} }

// Want implements Wanting.
func (forShifts) Want() Want { return Want{Shifts: true} }

// Package outlook shows what uncertainty and time do to a girder end, what a
// repair is foreseen to take from its web, what it carried at each stage of the
// work, and the order in which to repair the ends of a bridge. What is foreseen is
// set apart from what was measured by a dashed line and a word, never by color
// alone.
package outlook

import (
	"github.com/a-h/templ"

	"endcast/views/ui"
)

// Fact is one labelled value; Dashed marks it as foreseen.
type Fact struct {
	Label, Value, Note string
	Foreseen           bool
}

// Odds is the chance that the capacity of an end is below its demand.
type Odds struct {
	None   string // why there is none; empty where there is one
	Facts  []Fact
	Trail  []TrailRow
	Spread []Fact // percentiles
	In     []string
	Out    []string

	SpreadChart, TrailChart templ.Component
}

// TrailRow is the chance after so many samples.
type TrailRow struct{ Samples, Below, Chance, Interval string }

// Fall is the capacity carried forward in time.
type Fall struct {
	None  string
	Mark  ui.Mark
	Facts []Fact
	Words []string
	Pairs []PairRow
	Curve []CurveRow
	Chart templ.Component
}

// PairRow is two surveys compared.
type PairRow struct {
	Surveys, Years, Matched, Loss string
	State                         ui.Mark
	Why                           string
}

// CurveRow is the capacity in a year.
type CurveRow struct {
	Year, Low, Central, High string
	Below                    string // at which rates it is below the demand
	Measured                 bool
}

// Outlook is the section of an end's page.
type Outlook struct {
	Odds        Odds
	Fall        Fall
	Method      string
	Digest      string
	Assumptions string // address of the assumed rate of loss
}

// Share is the load share that a design is foreseen to have.
type Share struct {
	None     string
	On       string // what it follows from
	States   []ShareState
	Strain   []Fact
	Rows     []ShareRow
	Unsolved []string
	Chart    templ.Component
}

// ShareState is one state of load.
type ShareState struct {
	Name, Note                           string
	Total, Before, Share, Panel, Web     string
	Peak, Use, SlipTop, SlipFoot, Closes string
	Laws                                 []LawRow
}

// LawRow is the outcome by one law of load and slip.
type LawRow struct{ Law, Share, Peak string }

// ShareRow is one row of studs.
type ShareRow struct{ Row, Height, Studs, Force, Use, Left, Reduction string }

// Stages is what the end carried at each stage of the work.
type Stages struct {
	Rows    []StageRow
	Missing []string
	Chart   templ.Component
}

// StageRow is one stage.
type StageRow struct {
	Number, Name, Note, On, Who string
	Capacity, Demand, Rating    string
	Verdict                     ui.Mark
}

// Rank is the page of the order of repair.
type Rank struct {
	Action      string
	Support     string
	Supports    []ui.Option
	Show        string
	Order       string
	Orders      []ui.Option
	Rows        []RankRow
	Span        string // places shown, in words
	Next, Top   string // addresses of the next page and of the first; empty for none
	Force       string
	Assumptions string
	Assumed     string // the rate in force in words
	Key         string // the order in words
}

// RankRow is one end in its place.
type RankRow struct {
	Place, Name, Href, Support           string
	Reason                               string
	Capacity, Demand, Short              string
	Chance, Interval, Year, Range, Least string
	Next                                 string
	Blocked                              ui.Mark
	Outside                              bool
}

package end

import (
	"github.com/a-h/templ"

	"endcast/views/ui"
)

// Today is the capacity of the day: what the end carries while its panel hardens.
type Today struct {
	At      string // the moment, in the program's own time
	Refused string // why nothing is expected
	Rows    []TodayRow
	Why     string // why the expected strength decides nothing
	Facts   []Fact
	Hours   []TodayHour
	Words   []string
	Points  []TodayPoint
	Chart   templ.Component // nil where nothing is expected
	Curve   Link
}

// TodayRow is one strength with the capacity that goes with it.
type TodayRow struct {
	Name, Note         string
	Strength, Capacity string
	Ratio              string // of the demand
	Mark               ui.Mark
}

// TodayHour is when a limit of strength is expected.
type TodayHour struct{ Name, Limit, Early, Expected, Cautious, Next string }

// TodayPoint is a row of the table beside the drawing.
type TodayPoint struct{ At, Age, Strength, Band, Capacity, Carries string }

package casting

import (
	"strconv"

	"endcast/internal/domain/fault"
	"endcast/views/drawing"
	"endcast/views/ui"
)

// Curing is the page of how the concrete of a pour hardened.
type Curing struct {
	Number, When, Zone string
	Pour, Action       string // addresses: of the pour, and of this page
	May                bool   // the reader may record
	Refused            string
	Bad                *fault.Invalid

	Chart    *drawing.TemperatureData
	Summary  string // what the drawing shows, in a sentence
	Logs     []CuringLog
	TempUnit string
	Gaps     []CuringGap
	Methods  []CuringMethod
	Sensors  []CuringMaturity
	AtCuring string // the temperature at which the ages are told
	Forecast *CuringForecast
	Beside   *CuringBeside
	Ends     []CuringEnd

	Waiting []Waiting
	File    CuringFileForm
	Hand    CuringHand
	End     []ui.Field
}

// CuringLog is one sensor's log.
type CuringLog struct {
	ID, Sensor, Place, Ends, Covered, First, Last string
	Readings, Hottest, Coldest, LongestGap        string
	From, FromHref                                string // where the readings come from; the file as it came
	Note                                          string
	Mark                                          ui.Mark
	Withdrawn                                     string // by whom, when and why
	Findings                                      []CheckLine
}

// CuringGap is a stretch without readings and how it counts.
type CuringGap struct{ Sensor, From, To, Length, Counts string }

// CuringMethod is a method of maturity.
type CuringMethod struct{ Name, Formula, Words, Source string }

// CuringMaturity is what the methods sum up for a sensor, in the order of the methods.
type CuringMaturity struct {
	Sensor string
	Sums   []string
	Ages   []string
}

// CuringForecast is what strength is to be expected. It decides nothing.
type CuringForecast struct {
	Refused      string
	Sensor       string
	Which        string // which curve it goes by
	Curve, Ahead string
	CurveHref    string
	Now          string
	Lines        []ForecastLine
	Next         []string // when to break the next set, one a gate
	Action       string
	AheadBox     ui.Field // the temperature ahead, by hand
}

// CuringBeside is what strength sensors in the concrete said beside forecast and
// specimens. It decides nothing.
type CuringBeside struct {
	NoGate   string
	Chart    *drawing.BesideData
	Findings []CheckLine // one a sensor
	Rows     []BesideRow
	Unit     string
	Limit    string // the setting
	Href     string
}

// BesideRow is a reading beside what else is known of its hour.
type BesideRow struct {
	When, Age, Name, Sensor, Against, Other, Band, Off string
	Href                                               string // of the sensor
	Mark                                               ui.Mark
}

// ForecastLine is when a strength is expected.
type ForecastLine struct{ Limit, What, Early, Expected, Cautious string }

// CuringEnd is what was said of the end of curing at a girder end.
type CuringEnd struct{ Name, Href, Cured, By, Note string }

// Waiting is a file that was sent and not confirmed.
type Waiting struct{ Name, Href, Sent, Size string }

// CuringFileForm is the form that sends a file.
type CuringFileForm struct {
	Entry, Limit, Why string
}

// CuringHand is the form of readings by hand.
type CuringHand struct {
	Entry string
	Log   ui.Field
	Head  []ui.Field
	Rows  [][2]ui.Field
}

// LoggerFile is the page on which the columns of a file are confirmed.
type LoggerFile struct {
	Name, Size, Sent string
	Back, Action     string
	Entry            string
	Bad              *fault.Invalid
	Refused          string // why the file cannot be taken
	Allow            []ui.Option
	Allowed          map[string]bool
	Widths           int
	Cells            [][]string
	Header           int
	Remembered       []Link
	Columns          []ui.Field // how the file is read
	Head             []ui.Field // what it is a log of
	Read             *LoggerRead
}

// LoggerRead is what reading the file gave.
type LoggerRead struct {
	Facts    [][2]string
	Rows     [][3]string // line, time, temperature
	Findings []LoggerFinding
	More     string
}

// LoggerFinding is one odd thing in the file.
type LoggerFinding struct{ Mark, Where, When, Text string }

func lineNumber(i int) string { return strconv.Itoa(i + 1) }

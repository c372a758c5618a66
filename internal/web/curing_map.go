package web

import (
	"encoding/json"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/logfile"
	"endcast/internal/domain/repair"
	"endcast/views/ui"
)

// mapForm is how the columns of a file are read, as a form asks and answers it.
type mapForm struct {
	c      *pourReader
	m      logfile.Map // guessed, remembered, or as typed
	doubts []logfile.Doubt
	names  []logfile.Column // the columns of numbers that were found
	typed  url.Values       // nil: nobody answered yet
	bad    *fault.Invalid
}

var separatorNames = []ui.Option{{Value: ",", Label: "comma"}, {Value: ";", Label: "semicolon"}, {Value: "\t", Label: "tab"}, {Value: "|", Label: "bar"}, {Value: " ", Label: "space"}}

// The form sends the words of separators: a tab does not survive every way.
func separatorWord(sep string) string { return labelOf(separatorNames, sep) }

func separatorOf(word string) string {
	for _, o := range separatorNames {
		if o.Label == word {
			return o.Value
		}
	}
	return word
}

var clockKinds = []ui.Option{{Value: logfile.Dates, Label: "date and time"}, {Value: logfile.EpochS, Label: "seconds since 1970"}, {Value: logfile.EpochMS, Label: "milliseconds since 1970"},
	{Value: logfile.Serial, Label: "days of a spreadsheet"}, {Value: logfile.ElapsedS, Label: "seconds since a start"}, {Value: logfile.ElapsedM, Label: "minutes since a start"},
	{Value: logfile.ElapsedH, Label: "hours since a start"}, {Value: logfile.ElapsedC, Label: "hours:minutes:seconds since a start"}, {Value: logfile.Counted, Label: "no time: rows at equal steps"}}

var dateOrders = []ui.Option{{Value: "ymd", Label: "year, month, day"}, {Value: "dmy", Label: "day, month, year"}, {Value: "mdy", Label: "month, day, year"}}

// mapFields are the fields of a map by their names in package logfile.
var mapFields = map[string]string{"clock.order": "order", "clock.zone": "zone", "clock.kind": "kind", "clock.start": "start", "clock.every": "every", "clock.index": "time_column", "clock.time": "day_column",
	"values": "column", "values.0.index": "column", "values.0.unit": "unit", "no_reading": "none"}

func (f *mapForm) doubt(field string) (logfile.Doubt, bool) {
	for _, d := range f.doubts {
		if mapFields[d.Field] == field || d.Field == field {
			return d, true
		}
	}
	return logfile.Doubt{}, false
}

// known reports whether nothing is left open: a map remembered, or every doubt
// answered by the form.
func (f *mapForm) known() bool { return f.typed != nil || len(f.doubts) == 0 }

// read takes the answers of the form over the map.
func (f *mapForm) read(v url.Values) {
	f.typed = v
	m := &f.m
	number := func(field string) int {
		n, err := strconv.Atoi(strings.TrimSpace(v.Get(field)))
		if v.Get(field) != "" && err != nil {
			f.bad.Add(field, v.Get(field), "must be a whole number")
		}
		return n
	}
	m.Separator, m.Decimal, m.Encoding = separatorOf(v.Get("separator")), v.Get("decimal"), v.Get("encoding")
	m.Header, m.Comment = number("header"), v.Get("comment")
	m.Names, m.Units = min(m.Names, m.Header), min(m.Units, m.Header)
	m.Clock = logfile.Clock{Kind: v.Get("kind"), Index: number("time_column"), Time: number("day_column"), Order: v.Get("order"), Zone: v.Get("zone")}
	if m.Clock.Kind == logfile.Counted {
		m.Clock.Index, m.Clock.Time = 0, 0
	}
	if t := f.c.moment(f.bad, "start", v.Get("start")); !t.IsZero() {
		m.Clock.Start = &t
	}
	if s := v.Get("every"); s != "" {
		var err error
		if m.Clock.Every, err = strconv.ParseFloat(s, 64); err != nil {
			f.bad.Add("every", s, "must be a number of seconds")
		}
	}
	column := logfile.Column{Index: number("column"), Unit: v.Get("unit")}
	column.Name = fmt.Sprintf("column %d", column.Index)
	for _, c := range f.names {
		if c.Index == column.Index {
			column.Name = c.Name
		}
	}
	if column.Unit == "" {
		f.bad.Add("unit", "", "say in what unit the temperatures are")
	} else if u, ok := logfile.UnitNamed(column.Unit); !ok || u.Quantity != logfile.Temperature {
		f.bad.Add("unit", column.Unit, "must be a unit of temperature")
	}
	m.Values = []logfile.Column{column}
	m.NoReading = nil
	for _, w := range strings.FieldsFunc(v.Get("none"), func(r rune) bool { return r == ';' }) {
		if w = strings.TrimSpace(w); w != "" {
			m.NoReading = append(m.NoReading, w)
		}
	}
	if _, open := f.doubt("clock.zone"); open && m.Clock.Zone == "" && (m.Clock.Kind == logfile.Dates || m.Clock.Kind == logfile.Serial) {
		f.bad.Add("zone", "", "the times carry no offset: name the zone of the logger's clock")
	}
	var invalid *fault.Invalid
	if err := m.Validate(); err != nil {
		invalid, _ = err.(*fault.Invalid)
	}
	if invalid != nil {
		for _, x := range invalid.Fields {
			if n := mapFields[x.Field]; n != "" {
				x.Field = n
			}
			if f.bad.Of(x.Field) == nil {
				f.bad.Fields = append(f.bad.Fields, x)
			}
		}
	}
}

// rules are those by which the file is read.
func (f *mapForm) rules(allow []string) logfile.Rules {
	b := f.c.basis
	r := logfile.Rules{Ranges: map[logfile.Quantity][2]float64{logfile.Temperature: {b.Value(basis.LoggerColdest), b.Value(basis.LoggerHottest)}},
		Stuck: time.Duration(b.Value(basis.LoggerStuck) * float64(time.Hour))}
	for _, a := range allow {
		if slices.ContainsFunc(allowable, func(o ui.Option) bool { return o.Value == a }) {
			r.Allow = append(r.Allow, logfile.Kind(a))
		}
	}
	if name := f.m.Clock.Zone; name != "" {
		z, ok := logfile.Zone(name)
		if !ok {
			var err error
			if z, err = time.LoadLocation(name); err != nil || strings.EqualFold(name, "local") {
				f.bad.Add("zone", name, "no time zone is called so")
				return r
			}
		}
		r.Zone = z
	}
	return r
}

// allowable are the refusals that a person may say are true of a file.
var allowable = []ui.Option{
	{Value: string(logfile.MixedUnits), Label: "The temperature did jump so: the units do not change"},
	{Value: string(logfile.ClockChange), Label: "The pause is real: no clock was changed"},
	{Value: string(logfile.Repeated), Label: "Where a time comes twice, the first reading counts"},
}

// fields are the boxes of the form.
func (f *mapForm) fields() []ui.Field {
	m := f.m
	column := 0
	unit := ""
	if len(m.Values) > 0 {
		column, unit = m.Values[0].Index, m.Values[0].Unit
	}
	var columns []ui.Option
	for _, c := range f.names {
		columns = append(columns, ui.Option{Value: strconv.Itoa(c.Index), Label: fmt.Sprintf("%d: %s", c.Index, c.Name)})
	}
	if !slices.ContainsFunc(columns, func(o ui.Option) bool { return o.Value == strconv.Itoa(column) }) {
		columns = append(columns, ui.Option{Value: strconv.Itoa(column), Label: fmt.Sprintf("column %d", column)})
	}
	start := ""
	if m.Clock.Start != nil {
		start = m.Clock.Start.In(f.c.zone).Format("2006-01-02T15:04")
	}
	count := func(n int) string {
		if n == 0 {
			return ""
		}
		return strconv.Itoa(n)
	}
	every := ""
	if m.Clock.Every > 0 {
		every = strconv.FormatFloat(m.Clock.Every, 'g', -1, 64)
	}
	list := []ui.Field{
		{Name: "column", Label: "Column of the temperatures", Options: columns, Value: strconv.Itoa(column)},
		{Name: "unit", Label: "Unit of the temperatures", Options: []ui.Option{{Label: "choose"}, {Value: "C", Label: "°C"}, {Value: "F", Label: "°F"}, {Value: "K", Label: "K"}}, Value: unit},
		{Name: "kind", Label: "The time is", Options: clockKinds, Value: m.Clock.Kind},
		{Name: "order", Label: "Order of the date", Options: append([]ui.Option{{Label: "choose"}}, dateOrders...), Value: m.Clock.Order, Optional: m.Clock.Kind != logfile.Dates},
		{Name: "zone", Label: "Zone of the logger's clock", Options: f.zones(), Value: m.Clock.Zone, Optional: true},
		{Name: "start", Label: "Start that the file counts from", Type: "datetime-local", Value: start, Optional: true},
		{Name: "time_column", Label: "Column of the time", InputMode: "numeric", Value: count(m.Clock.Index), Short: true},
		{Name: "day_column", Label: "Column of the time of day, if apart", InputMode: "numeric", Value: count(m.Clock.Time), Optional: true, Short: true},
		{Name: "every", Label: "Step of rows without a time", Unit: "s", InputMode: "decimal", Value: every, Optional: true, Short: true},
		{Name: "header", Label: "Lines above the first row", InputMode: "numeric", Value: strconv.Itoa(m.Header), Short: true},
		{Name: "separator", Label: "Columns are parted by", Options: wordsAsValues(separatorNames), Value: separatorWord(m.Separator)},
		{Name: "decimal", Label: "Decimals are parted by", Options: []ui.Option{{Value: ".", Label: "point"}, {Value: ",", Label: "comma"}}, Value: m.Decimal},
		{Name: "encoding", Label: "Encoding", Options: []ui.Option{{Value: "utf-8", Label: "UTF-8"}, {Value: "latin-1", Label: "Latin-1"}, {Value: "utf-16le", Label: "UTF-16, low byte first"}, {Value: "utf-16be", Label: "UTF-16, high byte first"}}, Value: m.Encoding},
		{Name: "none", Label: "What stands for no reading", Hint: "Parted by semicolons, such as -999; OPEN.", Value: strings.Join(m.NoReading, "; "), Optional: true},
		{Name: "comment", Label: "Lines to pass over begin with", Value: m.Comment, Optional: true, Short: true},
	}
	for i, x := range list {
		if d, ok := f.doubt(x.Name); ok {
			list[i].Hint = ui.Sentence(d.Say)
			if f.typed == nil && (x.Name == "order" || x.Name == "unit" || x.Name == "zone") {
				list[i].Value = ""
			}
		}
		if f.typed != nil && f.typed.Has(x.Name) {
			list[i].Value = f.typed.Get(x.Name)
		}
		list[i] = list[i].With(f.bad)
	}
	return list
}

func wordsAsValues(list []ui.Option) []ui.Option {
	out := make([]ui.Option, len(list))
	for i, o := range list {
		out[i] = ui.Option{Value: o.Label, Label: o.Label}
	}
	return out
}

// zones are the clocks that a logger at the bridge may keep: that of the place, one
// that keeps its offset all year, and UTC.
func (f *mapForm) zones() []ui.Option {
	z := f.c.zone
	list := []ui.Option{{Label: "in the file itself"}}
	add := func(value, label string) {
		if value != "" && !slices.ContainsFunc(list, func(o ui.Option) bool { return o.Value == value }) {
			list = append(list, ui.Option{Value: value, Label: label})
		}
	}
	if z != time.UTC {
		add(z.String(), z.String()+", as clocks there change")
	}
	year := f.c.pour.StartedAt.Year()
	for _, month := range []time.Month{time.January, time.July} {
		offset := time.Date(year, month, 1, 12, 0, 0, 0, z).Format("-07:00")
		if offset != "+00:00" {
			add("UTC"+offset, "UTC"+offset+" all year")
		}
	}
	add("UTC", "UTC")
	add(f.m.Clock.Zone, f.m.Clock.Zone)
	return list
}

// typedMap is a map as a row of the record holds it.
func typedMap(m logfile.Map, allow []logfile.Kind) (repair.Typed, error) {
	text, err := json.Marshal(m)
	if err != nil {
		return nil, err
	}
	t := repair.Typed{"map": string(text)}
	for _, a := range allow {
		t["allow_"+string(a)] = "yes"
	}
	return t, nil
}

// mapTyped is the map that a row holds.
func mapTyped(t repair.Typed) (logfile.Map, bool) {
	var m logfile.Map
	err := json.Unmarshal([]byte(t["map"]), &m)
	return m, err == nil && m.Validate() == nil
}

package exchange

import (
	"strings"

	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// Names of the tables, which are also the names of sheets and files.
const (
	TableSupports = "Supports"
	TableSpans    = "Spans"
	TableSections = "Sections"
	TableEnds     = "Ends"
	TableSurveys  = "Surveys"
	TableReadings = "Readings"
	TableHoles    = "Holes"
)

type cellType uint8

const (
	textCell     cellType = iota
	wholeCell             // a whole number
	choiceCell            // one word of a list
	yesNoCell             // yes or no; blank is no
	timeCell              // date and time
	quantityCell          // a number with a unit
)

// column describes one column: how it is read, and to a person.
type column struct {
	name     string
	typ      cellType
	kind     units.Kind // of a quantityCell
	choices  []string
	required bool // the header must have it
	about    string
	aliases  []string
	most     int // characters of a text; 0 is maxText
}

type table struct {
	name    string
	columns []column
}

func (t table) column(name string) (column, bool) {
	for _, c := range t.columns {
		if c.name == name {
			return c, true
		}
	}
	return column{}, false
}

func quantity(name string, kind units.Kind, required bool, about string, aliases ...string) column {
	return column{name: name, typ: quantityCell, kind: kind, required: required, about: about, aliases: aliases}
}

func words(name string, required bool, about string, aliases ...string) column {
	return column{name: name, required: required, about: about, aliases: aliases}
}

func (c column) upTo(characters int) column {
	c.most = characters
	return c
}

func choice(name string, required bool, about string, choices ...string) column {
	return column{name: name, typ: choiceCell, required: required, about: about, choices: choices}
}

var tables = []table{
	{TableSupports, []column{
		words("code", true, "short code, used by the other tables: A1, P1", "support").upTo(20),
		words("name", true, "full name: Abutment 1, Pier 1").upTo(80),
		quantity("station", units.Spans, false, "station, counted ahead"),
	}},
	{TableSpans, []column{
		{name: "number", typ: wholeCell, required: true, about: "counted ahead station from 1", aliases: []string{"span"}},
		quantity("length", units.Spans, true, "between bearings"),
		{name: "girders", typ: wholeCell, required: true, about: "number of girder lines"},
		quantity("spacing", units.Spans, true, "between girder lines; for a single line the width that it carries"),
		words("from_support", true, "code of the support behind"),
		words("to_support", true, "code of the support ahead"),
		{name: "continuous", typ: yesNoCell, about: "yes if the girders run on over the support ahead"},
		words("note", false, "anything else"),
	}},
	{TableSections, []column{
		words("name", true, "name, such as W36X150; one of the library needs nothing more", "section").upTo(80),
		choice("kind", false, "one of rolled and built_up; blank is rolled", string(girder.Rolled), string(girder.BuiltUp)),
		quantity("d", units.Lengths, false, "depth over the flanges", "depth"),
		quantity("bf", units.Lengths, false, "width of the bottom flange"),
		quantity("tf", units.Lengths, false, "thickness of the bottom flange"),
		quantity("tf_top", units.Lengths, false, "thickness of the top flange; blank as the bottom"),
		quantity("bf_top", units.Lengths, false, "width of the top flange; blank as the bottom"),
		quantity("tw", units.Lengths, false, "thickness of the web"),
		quantity("k", units.Lengths, false, "outer face of the flange to the web toe of the fillet"),
		words("source", false, "drawing, handbook or measured"),
	}},
	{TableEnds, []column{
		words("name", true, "span, end, girder: 2F-3", "end"),
		words("support", true, "code of the support it stands on"),
		choice("face", false, "face of the support, back or ahead; checked against the name", "back", "ahead"),
		quantity("skew_deg", units.Angles, false, "skew of the bearing line", "skew"),
		words("section", true, "name of the section"),
		choice("bearing", true, "kind of bearing", string(girder.Rocker), string(girder.Bolster), string(girder.SlidingPlate), string(girder.Elastomeric), string(girder.OtherBearing)),
		choice("fixity", true, "fixed or expansion", "fixed", "expansion"),
		quantity("bearing_start", units.Lengths, true, "end of the girder to the near edge of the bearing"),
		quantity("bearing_length", units.Lengths, true, "along the girder"),
		quantity("bearing_width", units.Lengths, true, "across the girder"),
		{name: "stiffener_pairs", typ: wholeCell, about: "bearing stiffeners; blank or 0 for none"},
		quantity("stiffener_width", units.Lengths, false, "of one plate, from the web out"),
		quantity("stiffener_thickness", units.Lengths, false, "of one plate"),
		quantity("stiffener_clip", units.Lengths, false, "cut off at the web; blank is 0"),
		quantity("stiffener_x", units.Lengths, false, "end of the girder to the middle of the stiffeners"),
		quantity("stiffener_fy", units.Stresses, false, "yield strength; blank as the girder"),
		quantity("fy", units.Stresses, true, "yield strength of the girder"),
		quantity("fu", units.Stresses, false, "tensile strength; blank counts as the yield strength, which is safe"),
		words("fy_source", false, "drawing, mill report, test, or assumed by year"),
		quantity("reaction_factored", units.Forces, true, "factored reaction that the end must carry", "reaction"),
		words("reaction_source", false, "rating report or calculation"),
		{name: "held_against_roll", typ: yesNoCell, about: "yes if the end diaphragm still holds the end; blank is no, which is safe"},
		quantity("diaphragm_x", units.Lengths, false, "end of the girder to the end diaphragm; blank is none"),
		quantity("end_panel", units.Lengths, false, "bearing line to the first intermediate stiffener; blank is none"),
		words("access", false, "kind of access, as the program names its windows; blank is open").upTo(60),
		words("alias", false, "names in older reports, parted by semicolons", "aliases").upTo(80),
		words("chosen_steps", false, "codes of the steps for chosen ends that it goes through, parted by semicolons"),
	}},
	{TableSurveys, []column{
		words("end", true, "name of the end"),
		{name: "survey_no", typ: wholeCell, required: true, about: "counted from 1 at each end", aliases: []string{"survey", "number"}},
		choice("kind", true, "one of as_found and cleaned", AsFound, Cleaned),
		{name: "taken_at", typ: timeCell, required: true, about: "date and time: 2027-07-16 22:40, or with an offset 2027-07-16T22:40:00-04:00"},
		words("taken_by", true, "who measured"),
		words("method", false, "caliper, ultrasonic, pit gauge"),
		words("gauge", false, "mark of the instrument"),
		quantity("flange_t", units.Lengths, false, "bottom flange over the bearing, remaining"),
		quantity("stiffener_t", units.Lengths, false, "stiffener thickness remaining"),
		quantity("stiffener_w", units.Lengths, false, "stiffener width remaining"),
		quantity("deviation", units.Lengths, false, "web out of plumb over the bearing"),
		quantity("detached", units.Lengths, false, "length of web-to-flange joint lost over the bearing"),
		words("thicker_reason", false, "why metal above the as-new thickness stands, for example a doubler"),
		words("note", false, "anything else"),
	}},
	{TableReadings, []column{
		words("end", true, "name of the end"),
		{name: "survey_no", typ: wholeCell, required: true, about: "number of the survey", aliases: []string{"survey"}},
		choice("face", true, "side of the web, L or R looking ahead, or T for through the web", "L", "R", "T"),
		quantity("x", units.Lengths, true, "from the end of the girder along the web"),
		quantity("z", units.Lengths, true, "above the top of the bottom flange"),
		quantity("t", units.Lengths, true, "remaining thickness; blank where there was no access"),
		{name: "no_access", typ: yesNoCell, about: "yes if the place could not be read"},
		words("reason", false, "why there was no access"),
	}},
	{TableHoles, []column{
		words("end", true, "name of the end"),
		{name: "survey_no", typ: wholeCell, required: true, about: "number of the survey", aliases: []string{"survey"}},
		quantity("x", units.Lengths, true, "lower near corner, from the end of the girder"),
		quantity("z", units.Lengths, true, "lower near corner, above the top of the bottom flange"),
		quantity("width", units.Lengths, true, "along the girder"),
		quantity("height", units.Lengths, true, "upright"),
		quantity("rim", units.Lengths, false, "remaining thickness at the rim; blank if not read"),
	}},
}

func tableNamed(name string) (table, bool) {
	for _, t := range tables {
		if strings.EqualFold(t.name, strings.TrimSpace(name)) {
			return t, true
		}
	}
	return table{}, false
}

func tableNames() string {
	names := make([]string, len(tables))
	for i, t := range tables {
		names[i] = t.name
	}
	return strings.Join(names, ", ")
}

// plainName folds a header or a choice: small letters, one underscore between words.
func plainName(s string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool {
		return r == ' ' || r == '_' || r == '-' || r == '\u00a0' || r == '\n' || r == '\t'
	}), "_")
}

package girder

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/units"
)

//go:embed shapes.csv
var shapesCSV string

// Series is a family of rolled beams.
type Series string

// Series of the library.
const (
	WideFlange    Series = "W"  // current wide-flange shapes
	StandardBeam  Series = "S"  // American Standard beams, sloped flanges
	OldWideFlange Series = "WF" // wide-flange beams of the middle of the 20th century
)

// Entry is one shape of the library with what its source publishes of it.
// Published values are zero where the source gives none.
type Entry struct {
	Section
	Series           Series
	PublishedArea    units.Area
	PublishedInertia units.Inertia
	Tag              basis.Tag
	// EstimatedK marks a fillet distance that was derived, not published: measure
	// it in the field before yielding governs a decision.
	EstimatedK bool
}

var library, byName = load()

// load reads the embedded table. A mistake in it is a mistake in the program and
// panics at start, before any user data is near.
func load() ([]Entry, map[string]int) {
	r := csv.NewReader(strings.NewReader(shapesCSV))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		panic(fmt.Errorf("girder: shape library: %w", err))
	}
	names := make(map[string]int, len(rows))
	var out []Entry
	for _, row := range rows[1:] {
		var v [7]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(row[i+2], 64); err != nil {
				panic(fmt.Errorf("girder: shape library: %s: %w", row[1], err))
			}
		}
		e := entry(Series(row[0]), row[1], v)
		names[folded(e.Name)] = len(out)
		out = append(out, e)
	}
	return out, names
}

// entry turns a row in inches into an Entry in millimetres.
func entry(series Series, name string, v [7]float64) Entry {
	in := func(x float64) units.Length { return units.Length(x) * units.Inch }
	const in2, in4 = 25.4 * 25.4, 25.4 * 25.4 * 25.4 * 25.4
	e := Entry{
		Section: Section{Name: name, Kind: Rolled, Depth: in(v[0]), FlangeWidth: in(v[1]), FlangeThickness: in(v[2]),
			TopFlangeWidth: in(v[1]), TopFlangeThickness: in(v[2]), WebThickness: in(v[3]), FilletK: in(v[4])},
		Series: series, PublishedArea: units.Area(v[5] * in2), PublishedInertia: units.Inertia(v[6] * in4), Tag: basis.Read,
	}
	switch series {
	case WideFlange:
		e.Source = "AISC shape database v15.0"
	case StandardBeam:
		e.Source = "AISC shape database v14.1, two decimals"
	default:
		e.Source, e.Tag, e.EstimatedK = "mid-century mill dimensions, from memory; k estimated", basis.Memory, true
	}
	return e
}

// Library returns every shape, in the order of series, depth and weight.
func Library() []Entry { return append([]Entry(nil), library...) }

// Lookup finds a shape by name, whatever the case and the multiplication sign:
// w36x150, W36×150 and "36 WF 150" are all found.
func Lookup(name string) (Entry, bool) {
	i, ok := byName[folded(name)]
	if !ok {
		return Entry{}, false
	}
	return library[i], true
}

func folded(name string) string {
	return strings.ToUpper(strings.NewReplacer(" ", "", "×", "X", "*", "X", "-", "").Replace(strings.TrimSpace(name)))
}

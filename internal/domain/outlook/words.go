package outlook

import (
	"strconv"

	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
)

func fixed(v float64, decimals int) string { return strconv.FormatFloat(v, 'f', decimals, 64) }

func percent(v float64) string { return strconv.FormatFloat(100*v, 'g', 3, 64) + " %" }

// words says what a chance holds and what it does not, with the numbers.
func words(c Scatter, g girder.Geometry, s *survey.Survey, samples int) (in, out []string) {
	in = append(in, "the capacity of each of "+strconv.Itoa(samples)+" samples by the same rules as the reported one, which stays the lower bound")
	steel := "yield strength: mean " + fixed(c.YieldMean, 2) + " of the one on record, scatter " + percent(c.YieldScatter)
	if g.Stiffener != nil {
		steel += ", web and stiffeners each by itself"
	}
	in = append(in, steel)
	if s != nil {
		in = append(in,
			"error of one reading ("+c.Method+"): "+fixed(c.Reading, 2)+" mm; readings across the web count as taken with a caliper",
			"error that all readings of the survey share: "+fixed(c.Calibration, 2)+" mm")
		if c.BiasHigh > 0 {
			in = append(in, "ultrasonic readings too thick by "+fixed(c.BiasLow, 2)+" to "+fixed(c.BiasHigh, 2)+" mm, all of the survey alike")
		}
		switch c.MapFrom {
		case mapFromReadings:
			in = append(in, "scatter of the web between readings: "+fixed(c.Map, 2)+" mm, from "+strconv.Itoa(c.MapReadings)+" readings between neighbors")
		default:
			in = append(in, "scatter of the web between readings: "+fixed(c.Map, 2)+" mm, as set; "+strconv.Itoa(c.MapReadings)+" readings have a neighbor on each side")
		}
		in = append(in, "no plate counts as thicker than as new, nor as less than nothing, in any sample")
	}
	if c.ModelScatter > 0 || c.ModelMean != 1 {
		in = append(in, "strength in tests over the one of the rules: mean "+fixed(c.ModelMean, 2)+", scatter "+percent(c.ModelScatter))
	} else {
		out = append(out, "how far the rules themselves are from a real end: no factor is invented; the chance with the mean of the zone stands beside as the other end of the band")
	}
	if s == nil {
		out = append(out, "loss of steel: there is no survey")
	} else {
		out = append(out, "steel that no reading speaks for, which counts as built", "the size of holes, and loss between readings deeper than their scatter tells")
		if c.BiasHigh == 0 && c.Method != string(survey.Caliper) {
			out = append(out, "ultrasonic readings that are too thick on rough steel: 0.6 to 2.2 mm was published for unprepared surfaces; the setting is off")
		}
		out = append(out, "the worst row of scattered readings lies below the worst row of the readings themselves, so the mean of the samples lies below the reported capacity")
	}
	out = append(out, "the demand, which is taken as certain", "bearings, deviation of the web and everything that puts the end outside the limits of the rules",
		"what happens after the survey")
	return in, out
}

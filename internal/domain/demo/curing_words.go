package demo

import (
	"fmt"
	"math"

	"endcast/internal/domain/units"
)

func unitsTemperature(v float64) units.Temperature { return units.Temperature(v) }

// curingSeen is what the inspector wrote of the record of curing at an end.
func (p plan) curingSeen() string {
	for _, q := range pours() {
		if q.key != p.pour {
			continue
		}
		hot, at := q.heat().hottest("core")
		text := fmt.Sprintf("Sensors in the panel at the edge and in the core from covering until the covers came off; highest %.0f °F at %.0f hours.", math.Round(hot), at)
		switch {
		case q.key == handRead:
			return "Two probes read by hand every two hours; the logger stayed dark. " + fmt.Sprintf("Highest %.0f °F at about %.0f hours.", math.Round(hot), at)
		case len(pauses[q.key]["form"]) > 0:
			return text + " The sensor at the form wrote nothing for eight hours and is left out; the other two are whole."
		case len(pauses[q.key]) > 0:
			return text + " One gap of less than four hours in the core; the lower end counts."
		case len(coldSpell[q.key]) > 0:
			return text + " The heater ran out of fuel on the first night and stood for almost three days: the form stays until the breaks say otherwise."
		}
		return text + " No gap in the log."
	}
	return ""
}

package demo

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"iter"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/logfile"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
)

// handRead is the casting whose logger stayed dark, so that somebody read a probe every
// two hours.
const handRead = "5F 0511"

// pauses are the hours after placing in which a logger wrote nothing: one short, one so
// long that the record of its sensor is void.
var pauses = map[string]map[string][2]float64{"6N 0413": {"core": {30.2, 33.9}}, "1F 0428": {"form": {41, 49.5}}}

// heat is how warm this casting was.
func (p pour) heat() heat {
	n := p.batches()
	return heat{key: p.key, covered: p.mixed(n).Add(25 * minute), mix: p.mixHeat(n)}
}

// batches is how many batches the covers waited for: those of the record, which the
// design decides, or a little later. The sensors are covered within the two hours of
// the casting in any case.
func (p pour) batches() int { return min(6, 2+len(p.ends)) }

// cureEnd is when the covers and the wires came off.
func (p pour) cureEnd() time.Time { return p.at.Add(4*24*hour + 2*hour) }

// cure tells of the logs of one casting.
func (t *teller) cure(p pour) {
	ends := names(p.ends)
	end := p.cureEnd()
	if end.After(cut) {
		end = cut.Add(-90 * minute) // read out on the last day, while it goes on
	}
	if p.key == handRead {
		t.readByHand(p, end)
	} else {
		places := []string{"coldest", "core"}
		if len(pauses[p.key]["form"]) > 0 || len(p.ends) > 1 && uniform(p.key, "third") < 0.3 {
			places = append(places, "form")
		}
		if uniform(p.key, "air") < 0.4 || p.key == "6N 0423" {
			places = append(places, "air")
		}
		t.logs(p, "panel", places, end, 20*minute, end.Add(20*minute))
	}
	if last := p.at.Add(171 * hour); last.Before(cut) {
		t.logs(p, "box", []string{"specimen"}, last, 30*minute, last.Add(2*hour))
	}
	if p.cureEnd().After(cut) {
		return
	}
	t.tell("cured "+p.key, authz.Contractor, end.Add(25*minute), ends, false, func(s *repair.Scope) (repair.Change, error) {
		q, err := p.of(s)
		return repair.EndCuring{Pour: q.Number, At: end.Add(-10 * minute).UTC(), Note: "covers and wires taken off"}, err
	})
}

// names of the sensors as they are marked, by their place.
var sensorNames = map[string]string{"coldest": "T1 edge at flange", "core": "T2 core", "form": "T3 form", "air": "T4 air", "specimen": "T5 box of cylinders"}

// logs tells of one file of a logger, a column for each of its sensors.
func (t *teller) logs(p pour, kind string, places []string, until time.Time, step time.Duration, at time.Time) {
	file := p.heat().table(places, until, step)
	name := kind + "-" + strings.ToLower(strings.ReplaceAll(p.key, " ", "-")) + ".csv"
	for i, place := range places {
		t.tell("log "+p.key+" "+place, authz.Contractor, at.Add(time.Duration(i)*2*minute), names(p.ends), false, func(s *repair.Scope) (repair.Change, error) {
			q, err := p.of(s)
			if err != nil {
				return nil, err
			}
			return logChange(q.Number, place, name, p.heat().covered, file, i)
		})
	}
}

// logChange puts one column of a file on record, read as any other file is.
func logChange(number int, place, name string, covered time.Time, file []byte, column int) (repair.Change, error) {
	m := logfile.Map{Encoding: "utf-8", Separator: ",", Decimal: ".", Header: 1, Names: 1, Clock: logfile.Clock{Kind: logfile.Dates, Index: 1, Order: "ymd"},
		Values: []logfile.Column{{Index: column + 2, Name: sensorNames[place], Unit: "F"}}, NoReading: []string{"NAN"}}
	text, err := json.Marshal(m)
	if err != nil {
		return nil, err
	}
	note := ""
	if place == "specimen" {
		note = "beside the cylinders in the box under the covers"
	}
	return repair.RecordCuringLog{LogHead: repair.LogHead{Pour: number, Sensor: sensorNames[place], Place: place, CoveredAt: covered.UTC(), Note: note}, FileName: name, SHA256: sum(file),
		Map: repair.Typed{"map": string(text)}, Remember: "site logger, column " + strconv.Itoa(column+2),
		File: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(file)), nil },
		Open: func() iter.Seq2[uhpc.Temperature, error] { return rows(file, m) }}, nil
}

// rows yields the readings of one column of a file.
func rows(file []byte, m logfile.Map) iter.Seq2[uhpc.Temperature, error] {
	return func(yield func(uhpc.Temperature, error) bool) {
		r := logfile.Read(bytes.NewReader(file), m, logfile.Rules{Zone: zone})
		defer r.Close()
		for r.Next() {
			if v := r.Values()[0]; v == v && !yield(uhpc.Temperature{At: r.At(), Value: unitsTemperature(v)}, nil) {
				return
			}
		}
		if err := r.Err(); err != nil {
			yield(uhpc.Temperature{}, err)
		}
	}
}

// table is the file that a logger wrote.
func (h heat) table(places []string, until time.Time, step time.Duration) []byte {
	var out bytes.Buffer
	out.WriteString("time")
	for _, place := range places {
		fmt.Fprintf(&out, ",%s [F]", sensorNames[place])
	}
	out.WriteString("\n")
	// The logger was set to full minutes and switched on before the sensors were covered.
	for at := h.covered.Truncate(step).Add(-step); !at.After(until); at = at.Add(step) {
		out.WriteString(at.In(zone).Format("2006-01-02 15:04:05-07:00"))
		hours := at.Sub(h.covered).Hours()
		for _, place := range places {
			if g, ok := pauses[h.key][place]; ok && hours > g[0] && hours < g[1] {
				out.WriteString(",NAN")
				continue
			}
			fmt.Fprintf(&out, ",%.1f", h.at(place, at)+0.25*(uniform(h.key, place, at.Format(time.RFC3339))-0.5))
		}
		out.WriteString("\n")
	}
	return out.Bytes()
}

// readByHand tells of the readings that a person took of two probes.
func (t *teller) readByHand(p pour, end time.Time) {
	h := p.heat()
	for i, place := range []string{"coldest", "core"} {
		t.tell("read "+p.key+" "+place, authz.Inspector, end.Add(time.Duration(20+2*i)*minute), names(p.ends), false, func(s *repair.Scope) (repair.Change, error) {
			q, err := p.of(s)
			ch := repair.AddHandReadings{LogHead: repair.LogHead{Pour: q.Number, Sensor: sensorNames[place], Place: place, CoveredAt: h.covered.UTC(),
				Note: "The logger stayed dark. Probe read every two hours by the watch, on sheet 7."}}
			for at := h.covered.Add(5 * minute); !at.After(end); at = at.Add(2*hour - 4*minute) {
				ch.Readings = append(ch.Readings, repair.HandReading{At: at.UTC(), Temp: celsius(round(h.at(place, at), 1))})
			}
			return ch, err
		})
	}
}

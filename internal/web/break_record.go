package web

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// breakForm is what was typed of one break, by the name of its box.
type breakForm map[string]string

// breakBoxes are the boxes of a break with the column that keeps what was typed.
var breakBoxes = []struct {
	name, words, column string
	kind                units.Kind
}{
	{"load", "greatest load", "load_n", units.Forces},
	{"width_1", "diameter or side", "width_mm", units.Lengths},
	{"width_2", "diameter or side at right angles", "depth_mm", units.Lengths},
	{"height", "height", "height_mm", units.Lengths},
	{"machine", "capacity of the machine", "machine_n", units.Forces},
}

// read turns a form into a change; faults stand at the names of its boxes.
func (f breakForm) read(c *castReader) (repair.RecordBreak, *fault.Invalid) {
	bad := &fault.Invalid{}
	ch := repair.RecordBreak{Mark: f["mark"], EndsGround: f["ends_ground"] != "", TestedBy: f["tested_by"], Typed: repair.Typed{}}
	if ch.BrokenAt = c.moment(bad, "broken_at", f["broken_at"]); ch.BrokenAt.IsZero() && bad.Of("broken_at") == nil {
		bad.Add("broken_at", "", "the date and time of the break are needed")
	}
	got := map[string]*float64{}
	for _, b := range breakBoxes {
		got[b.name] = c.quantity(bad, b.name, f[b.name], b.kind)
		if f[b.name] != "" {
			ch.Typed[b.column] = f[b.name]
		} else if b.name == "load" || b.name == "width_1" {
			bad.Add(b.name, "", "the %s is needed", b.words)
		}
	}
	if v := got["load"]; v != nil {
		ch.Load = units.Force(*v)
	}
	ch.Width, ch.Depth, ch.Height, ch.Machine = as[units.Length](got["width_1"]), as[units.Length](got["width_2"]), as[units.Length](got["height"]), as[units.Force](got["machine"])
	if f["fracture"] != "" {
		n, err := strconv.Atoi(f["fracture"])
		if err != nil {
			bad.Add("fracture", f["fracture"], "type of fracture must be a number from 1 to 6, got %q", f["fracture"])
		}
		ch.Fracture = &n
	}
	return ch, bad
}

// breakRecord records the break of one specimen from its row.
func (s *Server) breakRecord(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	f := breakForm{}
	for _, name := range []string{"entry", "mark", "broken_at", "load", "width_1", "width_2", "height", "machine", "tested_by", "fracture", "ends_ground"} {
		f[name] = strings.TrimSpace(r.PostFormValue(name))
	}
	ch, bad := f.read(c)
	if bad.Err() != nil {
		return s.laboratoryPage(w, r, http.StatusUnprocessableEntity, breakSent{form: f, bad: f.atRow(bad)})
	}
	refs, err := s.store.EndsOfSpecimens(r.Context(), c.head.ID.String(), []string{ch.Mark})
	if err != nil {
		return err
	}
	// One of a mock-up belongs to no end and is on record all the same.
	if _, err := s.storedSpecimen(r, c, ch.Mark); err != nil {
		return err
	}
	rec, err := s.edit(r, refs, ch.BrokenAt, ch)
	var invalid *fault.Invalid
	switch {
	case errors.As(err, &invalid):
		return s.laboratoryPage(w, r, http.StatusUnprocessableEntity, breakSent{form: f, bad: f.atRow(invalid)})
	case fault.KindOf(err) == fault.Refused:
		refused, lerr := s.brokenAlready(r, c, f, err)
		if lerr != nil {
			return lerr
		}
		return s.laboratoryPage(w, r, http.StatusConflict, breakSent{refused: refused})
	case err != nil:
		return err
	}
	if !rec.Repeated {
		text, err := s.brokenWords(r, c, ch.Mark)
		if err != nil {
			return err
		}
		s.flash(r, ui.Done, text)
	}
	return seeOther(w, r, c.head.Path("laboratory"))
}

// atRow names the faults after the boxes of the specimen's row.
func (f breakForm) atRow(v *fault.Invalid) *fault.Invalid {
	out := &fault.Invalid{}
	for _, x := range v.Fields {
		x.Field += "-" + strings.ToUpper(f["mark"])
		x.Reason = strings.ToUpper(f["mark"]) + ": " + x.Reason
		out.Fields = append(out.Fields, x)
	}
	return out
}

// storedSpecimen loads a specimen as it is on record.
func (s *Server) storedSpecimen(r *http.Request, c *castReader, mark string) (repair.Specimen, error) {
	list, err := s.store.CastingOfSpecimen(r.Context(), c.head.ID.String(), mark)
	if err != nil {
		return repair.Specimen{}, err
	}
	for _, sp := range list.Specimens {
		if strings.EqualFold(sp.Mark, strings.TrimSpace(mark)) {
			return sp, nil
		}
	}
	return repair.Specimen{}, fault.New(fault.NotFound, "no specimen of this program has the mark %.20s", mark)
}

// brokenWords says what a break gave, from the stored result.
func (s *Server) brokenWords(r *http.Request, c *castReader, mark string) (string, error) {
	sp, err := s.storedSpecimen(r, c, mark)
	if err != nil || sp.Raw == nil || sp.Strength == nil {
		return "", err
	}
	text := fmt.Sprintf("%s is on record: %s as broken, %s as a 3 x 6 in cylinder", sp.Mark, c.strength(*sp.Raw), c.strength(*sp.Strength))
	if sp.Held != "" {
		return text + ". It is held and does not count: " + sp.Held + ".", nil
	}
	return text + ", and counts.", nil
}

// brokenAlready sets what was typed beside what is on record.
func (s *Server) brokenAlready(r *http.Request, c *castReader, f breakForm, why error) (*casting.Refused, error) {
	sp, err := s.storedSpecimen(r, c, f["mark"])
	if err != nil {
		return nil, err
	}
	out := &casting.Refused{Message: ui.Sentence(fault.Message(why))}
	pair := func(to *[]casting.Pair, name, value string) {
		if value == "" {
			value = "–"
		}
		*to = append(*to, casting.Pair{Name: name, Value: value})
	}
	pair(&out.Typed, "Broken at", strings.Replace(f["broken_at"], "T", " ", 1))
	if sp.BrokenAt != nil {
		pair(&out.Stored, "Broken at", sp.BrokenAt.In(c.zone).Format("2006-01-02 15:04"))
	}
	held := map[string]*float64{"load": number(sp.Load), "width_1": number(sp.Width), "width_2": number(sp.Depth), "height": number(sp.Height), "machine": number(sp.Machine)}
	for _, b := range breakBoxes {
		name := sentenceCase(b.words) + ", " + b.kind.Label(c.sys)
		pair(&out.Typed, name, f[b.name])
		text := ""
		if v := held[b.name]; v != nil {
			text = c.figureAs(sp.Typed, b.column, b.kind, *v)
		}
		pair(&out.Stored, name, text)
	}
	pair(&out.Typed, "Tested by", f["tested_by"])
	pair(&out.Stored, "Tested by", sp.TestedBy)
	return out, nil
}

// number is a quantity as a plain number, nil for nil.
func number[Q ~float64](q *Q) *float64 {
	if q == nil {
		return nil
	}
	return new(float64(*q))
}

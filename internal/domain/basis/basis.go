// Package basis holds the design basis of a program: every factor, limit and
// threshold that a rule of the calculation or of the contract needs and that an
// owner may have to change. Each has a default, a unit, a source, and a tag that
// says how well the source is confirmed; a program stores only what it changed.
package basis

import (
	"fmt"
	"math"
	"sort"
)

// Tag says how a value came to us.
type Tag string

// Tags, from best to least confirmed.
const (
	Read       Tag = "read"             // read in the named source
	SecondHand Tag = "read second-hand" // read where someone restates the source
	Memory     Tag = "from memory"      // unconfirmed: check the licensed text
	Proposal   Tag = "our proposal"     // not from any published procedure
	Common     Tag = "common practice, no source"
)

// Key names one setting, for example "web.phi_crippling".
type Key string

// Definition is what the program knows of a setting before anyone edits it.
// Value, Min and Max are in the coherent units of package units (mm, N, MPa,
// degrees) or plain numbers; Unit is the quantity, for display.
type Definition struct {
	Key      Key
	Group    string
	Name     string
	Unit     Unit
	Default  float64
	Min, Max float64
	Source   string
	Tag      Tag
}

// Unit is the kind of quantity that a setting is, so that a page can show and
// read it in the reader's own units.
type Unit string

// Kinds of quantity.
const (
	Number      Unit = "number"
	Length      Unit = "length"
	Force       Unit = "force"
	Stress      Unit = "stress"
	Angle       Unit = "angle"
	Temperature Unit = "temperature"
	Minutes     Unit = "minutes"
	Hours       Unit = "hours"
	Days        Unit = "days"
	Volume      Unit = "volume"
	Mass        Unit = "mass"
	Density     Unit = "density"
)

var registry = map[Key]int{}
var definitions []Definition

// Define registers a setting at package initialisation and returns its key. It
// panics on a repeated key or a default outside its limits: both are mistakes
// in the program, never of a user.
func Define(d Definition) Key {
	if _, ok := registry[d.Key]; ok {
		panic("basis: repeated key " + string(d.Key))
	}
	if !(d.Default >= d.Min && d.Default <= d.Max) || d.Source == "" || d.Tag == "" {
		panic("basis: bad definition " + string(d.Key))
	}
	registry[d.Key] = len(definitions)
	definitions = append(definitions, d)
	return d.Key
}

// Definitions returns every setting, ordered by key.
func Definitions() []Definition {
	out := append([]Definition(nil), definitions...)
	sort.Slice(out, func(i, j int) bool { return out[i].Key < out[j].Key })
	return out
}

// Lookup returns the definition of a key.
func Lookup(k Key) (Definition, bool) {
	i, ok := registry[k]
	if !ok {
		return Definition{}, false
	}
	return definitions[i], true
}

// Basis is a full set of settings: the defaults with a program's changes over
// them. The zero value is all defaults. It is immutable; With returns a copy.
type Basis struct {
	changed map[Key]float64
	seen    map[Key]bool // nil: nobody watches
}

// Watched returns the same settings, which note in seen each that is read from
// now on, so that a sheet can list what it stands on. A watched basis must not be
// used by two goroutines at once.
func (b Basis) Watched(seen map[Key]bool) Basis {
	b.seen = seen
	return b
}

// Value returns a setting. It panics on an unknown key.
func (b Basis) Value(k Key) float64 {
	if b.seen != nil {
		b.seen[k] = true
	}
	if v, ok := b.changed[k]; ok {
		return v
	}
	i, ok := registry[k]
	if !ok {
		panic("basis: unknown key " + string(k))
	}
	return definitions[i].Default
}

// With returns a basis in which k has the value v, or an error that names the
// setting and its limits.
func (b Basis) With(k Key, v float64) (Basis, error) {
	d, ok := Lookup(k)
	if !ok {
		return b, fmt.Errorf("design basis: no setting is called %q", k)
	}
	if math.IsNaN(v) || v < d.Min || v > d.Max {
		return b, fmt.Errorf("design basis: %s must lie from %g to %g, got %g", d.Name, d.Min, d.Max, v)
	}
	m := make(map[Key]float64, len(b.changed)+1)
	for key, val := range b.changed {
		m[key] = val
	}
	m[k] = v
	if v == d.Default {
		delete(m, k) // a default that somebody confirmed is no change
	}
	return Basis{changed: m, seen: b.seen}, nil
}

// Changed returns the settings that differ from their defaults.
func (b Basis) Changed() map[Key]float64 {
	out := make(map[Key]float64, len(b.changed))
	for k, v := range b.changed {
		out[k] = v
	}
	return out
}

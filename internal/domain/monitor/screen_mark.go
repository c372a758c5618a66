package monitor

import (
	"bytes"
	"encoding/gob"
	"fmt"
)

// screenMark is what a Screen has seen, apart from its channels and settings.
type screenMark struct {
	Faults           map[FaultKind][]Fault
	Total            map[FaultKind]int
	Rows             int64
	First, Last, Top int64
	Values           []float64
	Lost             int64
	Off              Fault
	OffRows          int64
	Back             int
	Intervals        []float64
	Channels         []channelMark
}

type channelMark struct {
	Run, Missing, End Fault
	Value             float64
	High, Low         flatMark
	Running, Out      bool
}

type flatMark struct {
	Value     float64
	Now, Runs int
	Rows      int64
	First     Fault
}

func (f flat) mark() flatMark { return flatMark{f.value, f.now, f.runs, f.rows, f.first} }
func (f flatMark) flat() flat { return flat{f.Value, f.Now, f.Runs, f.Rows, f.First} }
func (x screened) mark() channelMark {
	return channelMark{x.run, x.missing, x.end, x.value, x.high.mark(), x.low.mark(), x.running, x.out}
}

// Mark writes down what was seen so far, so that another Screen of the same channels
// and settings can go on by Resume.
func (s *Screen) Mark() ([]byte, error) {
	m := screenMark{s.faults, s.total, s.rows, s.first, s.last, s.top, s.lastValues, s.lost, s.off, s.offRows, s.back, s.intervals, nil}
	for _, x := range s.channels {
		m.Channels = append(m.Channels, x.mark())
	}
	var b bytes.Buffer
	if err := gob.NewEncoder(&b).Encode(m); err != nil {
		return nil, fmt.Errorf("mark: %w", err)
	}
	return b.Bytes(), nil
}

// Resume goes on where a Mark was taken.
func (s *Screen) Resume(mark []byte) error {
	var m screenMark
	if err := gob.NewDecoder(bytes.NewReader(mark)).Decode(&m); err != nil {
		return fmt.Errorf("resume: %w", err)
	}
	if len(m.Channels) != len(s.channels) || len(m.Values) != len(s.lastValues) {
		return fmt.Errorf("resume: the mark is of other channels")
	}
	if m.Faults != nil {
		s.faults = m.Faults
	}
	if m.Total != nil {
		s.total = m.Total
	}
	s.rows, s.first, s.last, s.top, s.lastValues, s.lost, s.off, s.offRows, s.back, s.intervals = m.Rows, m.First, m.Last, m.Top, m.Values, m.Lost, m.Off, m.OffRows, m.Back, m.Intervals
	for i, c := range m.Channels {
		x := &s.channels[i]
		x.run, x.missing, x.end, x.value, x.high, x.low, x.running, x.out = c.Run, c.Missing, c.End, c.Value, c.High.flat(), c.Low.flat(), c.Running, c.Out
	}
	return nil
}

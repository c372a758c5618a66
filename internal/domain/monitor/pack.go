package monitor

import (
	"bytes"
	"compress/flate"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
)

// ErrPacked is returned for bytes that are no packed samples.
var ErrPacked = errors.New("packed samples are damaged")

// Forms of packed samples: the first byte. Loggers print a few decimals, so that a
// sample is mostly a whole number of some power of ten: the differences of those take a
// byte or two. A block that is not so is kept bit for bit. Either is exact.
const (
	packedTimes = 0xf0
	packedBits  = 0xf1
	mostPlaces  = 9 // up to it, the form is the number of decimals
)

var powers = [mostPlaces + 1]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9}

// PackTimes packs the times of a block, nanoseconds, in order.
func PackTimes(times []int64) []byte {
	raw := make([]byte, 0, len(times)+16)
	var last, step int64
	for i, t := range times {
		d := t - last
		if i < 2 {
			raw = binary.AppendVarint(raw, d)
		} else {
			raw = binary.AppendVarint(raw, d-step)
		}
		last, step = t, d
	}
	return deflated(packedTimes, len(times), raw)
}

// PackValues packs the samples of one channel of a block. NaN stays NaN.
func PackValues(v []float64) []byte {
	places, exact := placesOf(v)
	if !exact {
		raw := make([]byte, 0, 8*len(v))
		for shift := 56; shift >= 0; shift -= 8 { // like bytes beside each other
			for _, x := range v {
				raw = append(raw, byte(math.Float64bits(x)>>shift))
			}
		}
		return deflated(packedBits, len(v), raw)
	}
	out := make([]byte, 0, 2*len(v)+16)
	out = append(out, byte(places))
	out = binary.AppendUvarint(out, uint64(len(v)))
	last := int64(0)
	for _, x := range v {
		if x != x {
			out = append(out, 0)
			continue
		}
		n := int64(math.Round(x * powers[places]))
		d := n - last
		out = binary.AppendUvarint(out, (uint64(d)<<1^uint64(d>>63))+1)
		last = n
	}
	return out
}

// placesOf is the least number of decimals with which every sample is a whole number;
// false where there is none.
func placesOf(v []float64) (int, bool) {
	k := 0
	for _, x := range v {
		if x != x {
			continue
		}
		for {
			s := x * powers[k]
			if math.Abs(s) < 1<<51 {
				if r := math.Round(s); math.Float64bits(r/powers[k]) == math.Float64bits(x) {
					break
				}
			}
			if k++; k > mostPlaces {
				return 0, false
			}
		}
	}
	// A sample that was exact with fewer decimals need not be so with more.
	for _, x := range v {
		if x != x {
			continue
		}
		s := x * powers[k]
		if !(math.Abs(s) < 1<<51) || math.Float64bits(math.Round(s)/powers[k]) != math.Float64bits(x) {
			return 0, false
		}
	}
	return k, true
}

func deflated(form byte, n int, raw []byte) []byte {
	var b bytes.Buffer
	b.WriteByte(form)
	b.Write(binary.AppendUvarint(nil, uint64(n)))
	w, err := flate.NewWriter(&b, flate.BestSpeed)
	if err == nil {
		_, _ = w.Write(raw) // a buffer does not fail
		_ = w.Close()
	}
	return b.Bytes()
}

// mostPacked bounds what damaged bytes can ask for.
const mostPacked = 1 << 20

func opened(b []byte) (form byte, n int, rest []byte, err error) {
	if len(b) < 2 {
		return 0, 0, nil, ErrPacked
	}
	c, k := binary.Uvarint(b[1:])
	if k <= 0 || c > mostPacked {
		return 0, 0, nil, ErrPacked
	}
	return b[0], int(c), b[1+k:], nil
}

// UnpackTimes appends the times that PackTimes packed.
func UnpackTimes(into []int64, b []byte) ([]int64, error) {
	form, n, rest, err := opened(b)
	if err != nil || form != packedTimes {
		return into, ErrPacked
	}
	raw, err := io.ReadAll(io.LimitReader(flate.NewReader(bytes.NewReader(rest)), int64(n)*binary.MaxVarintLen64))
	if err != nil {
		return into, fmt.Errorf("%w: %w", ErrPacked, err)
	}
	var last, step int64
	for i := range n {
		d, k := binary.Varint(raw)
		if k <= 0 {
			return into, ErrPacked
		}
		raw = raw[k:]
		if i >= 2 {
			d += step
		}
		last, step = last+d, d
		into = append(into, last)
	}
	return into, nil
}

// UnpackValues appends the samples that PackValues packed.
func UnpackValues(into []float64, b []byte) ([]float64, error) {
	form, n, rest, err := opened(b)
	if err != nil {
		return into, err
	}
	switch {
	case form == packedBits:
		raw := make([]byte, 8*n)
		if _, err := io.ReadFull(flate.NewReader(bytes.NewReader(rest)), raw); err != nil {
			return into, fmt.Errorf("%w: %w", ErrPacked, err)
		}
		for i := range n {
			var bits uint64
			for k := range 8 {
				bits = bits<<8 | uint64(raw[k*n+i])
			}
			into = append(into, math.Float64frombits(bits))
		}
		return into, nil
	case form > mostPlaces:
		return into, ErrPacked
	}
	last, p := int64(0), powers[form]
	for range n {
		u, k := binary.Uvarint(rest)
		if k <= 0 {
			return into, ErrPacked
		}
		rest = rest[k:]
		if u == 0 {
			into = append(into, math.NaN())
			continue
		}
		u--
		last += int64(u>>1) ^ -int64(u&1)
		into = append(into, float64(last)/p)
	}
	return into, nil
}

// PackBins packs bins for a picture: least and greatest value and how many samples,
// rounded to 32 bits outward, so that no extreme is lost.
func PackBins(bins []Bin) []byte {
	out := make([]byte, 0, 12*len(bins))
	for _, b := range bins {
		lo, hi := float32(b.Min), float32(b.Max)
		if float64(lo) > b.Min {
			lo = math.Nextafter32(lo, float32(math.Inf(-1)))
		}
		if float64(hi) < b.Max {
			hi = math.Nextafter32(hi, float32(math.Inf(1)))
		}
		out = binary.BigEndian.AppendUint32(out, math.Float32bits(lo))
		out = binary.BigEndian.AppendUint32(out, math.Float32bits(hi))
		out = binary.BigEndian.AppendUint32(out, uint32(min(b.N, math.MaxInt32)))
	}
	return out
}

// UnpackBins appends the bins that PackBins packed.
func UnpackBins(into []Bin, b []byte) []Bin {
	for ; len(b) >= 12; b = b[12:] {
		into = append(into, Bin{Min: float64(math.Float32frombits(binary.BigEndian.Uint32(b))), Max: float64(math.Float32frombits(binary.BigEndian.Uint32(b[4:]))),
			N: int(binary.BigEndian.Uint32(b[8:]))})
	}
	return into
}

// With is the bin of both.
func (b Bin) With(o Bin) Bin { return b.with(o) }

// NoBin is a bin of no samples.
func NoBin() Bin { return nothing }

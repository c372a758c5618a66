package units

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/published"
)

func TestParse(t *testing.T) {
	t.Parallel()
	const k = 4448.2216152605
	for _, c := range []struct {
		kind Kind
		text string
		sys  System
		want float64
	}{
		{Lengths, "0.3125", US, 7.9375},
		{Lengths, ".3125", US, 7.9375},
		{Lengths, "5/16", US, 7.9375},
		{Lengths, "5⁄16 in.", US, 7.9375},
		{Lengths, "1-1/4", US, 31.75},
		{Lengths, "1 - 1/4", US, 31.75},
		{Lengths, "1 1/4 in", US, 31.75},
		{Lengths, "1¼\"", SI, 31.75},
		{Lengths, "¼ inch", SI, 6.35},
		{Lengths, "-1-1/4", US, -31.75},
		{Lengths, "−0.5 IN", US, -12.7},
		{Lengths, "+2", SI, 2},
		{Lengths, "7.9 mm", US, 7.9},
		{Lengths, "7,9", SI, 7.9},
		{Lengths, "0,312", US, 0.312 * 25.4},
		{Lengths, "1,234.5", SI, 1234.5},
		{Lengths, "1.234,5", SI, 1234.5},
		{Lengths, "12,345,678", SI, 12345678},
		{Lengths, "1234,567", SI, 1234.567},
		{Lengths, "2.5e1 mm", US, 25},
		{Lengths, "2 ft", US, 609.6},
		{Lengths, "2'", SI, 609.6},
		{Lengths, "2'-6\"", SI, 762},
		{Lengths, "2′ – 6″", SI, 762},
		{Lengths, "2' 6", SI, 762},
		{Lengths, "2'-6 1/2''", SI, 774.7},
		{Lengths, "2 ft 6 in", US, 762},
		{Lengths, "2ft6in", US, 762},
		{Lengths, "-2'-6\"", US, -762},
		{Spans, "82.5", US, 82.5 * 304.8},
		{Spans, "25.1", SI, 25100},
		{Spans, "82'-6\"", SI, 82.5 * 304.8},
		{Forces, "40 kip", SI, 40 * k},
		{Forces, "40", US, 40 * k},
		{Forces, "178 kN", US, 178000},
		{Forces, "500 lbf", SI, k / 2},
		{Stresses, "22.5 ksi", US, 22.5 * 6.894757293168361},
		{Stresses, "3000 psi", SI, 3 * 6.894757293168361},
		{Stresses, "345MPa", US, 345},
		{Stresses, "200 GPa", US, 200000},
		{Stresses, "345 N/mm²", US, 345},
		{Areas, "2 in²", SI, 2 * 645.16},
		{Volumes, "99 L", US, 99e6},
		{Inertias, "2 in^4", US, 2 * 416231.4256},
		{Inertias, "3763 ×10⁶ mm⁴", US, 3763e6},
		{Inertias, "3763", SI, 3763e6},
		{Moments, "2 kip-ft", US, 2 * k * 304.8},
		{Moments, "2 kN·m", US, 2e6},
		{Stiffnesses, "10 kip/in", SI, 10 * k / 25.4},
		{Temperatures, "70", US, 190.0 / 9},
		{Temperatures, "70 °F", SI, 190.0 / 9},
		{Temperatures, "-40F", SI, -40},
		{Temperatures, "21 C", US, 21},
		{TemperatureSteps, "18 F", SI, 10},
		{Angles, "12°30'", US, 12.5},
		{Angles, "12° 30′ 36″", US, 12.51},
		{Angles, "-12 deg 30'", US, -12.5},
		{Angles, "30 deg", US, 30},
		{Angles, "30 degrees", US, 30},
		{Angles, "30°", US, 30},
		{Strains, "350 µε", US, 350e-6},
		{Percents, "2.5 %", US, 0.025},
		{Hours, "2 d", US, 48},
		{Numbers, "0.9", US, 0.9},
	} {
		t.Run(c.kind.Name()+" "+c.text, func(t *testing.T) {
			t.Parallel()
			got, err := c.kind.Parse(c.text, c.sys)
			require.NoError(t, err)
			require.InDelta(t, c.want, got, 1e-12*max(1, math.Abs(c.want)))
		})
	}
}

func TestParseRefuses(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		kind       Kind
		text, says string
	}{
		{Lengths, "", "nothing is typed; want a length such as 5/16 in"},
		{Lengths, "  \t", "nothing is typed"},
		{Lengths, "NaN", "is not a number"},
		{Lengths, "inf", "is not a number"},
		{Lengths, "-Infinity", "is not a number"},
		{Lengths, "1e999", "too large"},
		{Lengths, "1e308 ft", "too large"},
		{Lengths, strings.Repeat("1", 65), "is too long"},
		{Lengths, "5 kip", `"5 kip" is a force; want a length such as 5/16 in`},
		{Forces, "22.5 ksi", `is a stress; want a force such as 40 kip`},
		{Stresses, "2 in", "is a length"},
		{Lengths, "2 ft2", "is an area"},
		{Lengths, "2 ft-kip", "is a moment"},
		{Temperatures, "2 ksi", "is a stress"},
		{Lengths, "1,234", "two ways"},
		{Lengths, "1.2.3", "more than one decimal point"},
		{Lengths, "1,23,4", "misplaced"},
		{Lengths, "1.23,4,5", "misplaced"},
		{Lengths, "1/0", "no number"},
		{Lengths, "1 5/4", "not less than one"},
		{Lengths, "2'-13\"", "12 or more inches"},
		{Lengths, "2' 6 mm", "needs inches"},
		{Lengths, "5 furlong", "unknown unit"},
		{Lengths, "0x10", "unknown unit"},
		{Lengths, "--5", "is not a number"},
		{Lengths, ".", "is not a number"},
		{Lengths, ",", "is not a number"},
		{Angles, "12°70'", "60 or more"},
		{Numbers, "5 in", "is a length; want a plain number"},
	} {
		t.Run(c.kind.Name()+" "+c.text, func(t *testing.T) {
			t.Parallel()
			_, err := c.kind.Parse(c.text, US)
			require.ErrorContains(t, err, c.says)
			e, ok := errors.AsType[*Error](err)
			require.True(t, ok)
			require.NotEmpty(t, e.Want)
			require.Contains(t, For("web thickness", err).Error(), "web thickness: ")
			require.Empty(t, e.Field, "For must not change the error it was given")
		})
	}
}

func TestExamplesParse(t *testing.T) {
	t.Parallel()
	for k := range kindCount {
		for _, sys := range []System{US, SI} {
			_, err := k.Parse(k.of().example[sys.column()], sys)
			require.NoError(t, err, k.Name())
			again, ok := KindNamed(k.Name())
			require.True(t, ok)
			require.Equal(t, k, again, "names are unique")
			if label := k.Label(sys); label != "" {
				want := k.Held(sys, 1.5)
				got, err := k.Parse("1.5 "+label, sys)
				require.NoError(t, err, "the printed unit of a %s can be typed", k.Name())
				require.InEpsilon(t, want, got, 1e-12)
			}
		}
	}
}

func TestNamesAreUniqueInAKind(t *testing.T) {
	t.Parallel()
	for k := range kindCount {
		seen := map[string]bool{}
		for _, u := range k.of().units {
			for name := range strings.FieldsSeq(u.names) {
				require.False(t, seen[name], "%s %s", k.Name(), name)
				require.Equal(t, name, fold(name), "a name is stored folded")
				seen[name] = true
			}
		}
	}
}

func TestFormat(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ got, want string }{
		{Length(7.9375).Format(US, -1), "0.313\u00a0in"},
		{Length(-7.9375).Format(US, -1), "−0.313\u00a0in"},
		{Length(7.9375).Format(SI, -1), "7.9\u00a0mm"},
		{Length(7.9375).Format(US, 4), "0.3125\u00a0in"},
		{Length(-0.001).Format(SI, -1), "0.0\u00a0mm"},
		{Force(178000).Format(SI, -1), "178.0\u00a0kN"},
		{Force(40*Kip).Format(US, -1), "40.0\u00a0kip"},
		{Stress(22.5*Ksi).Format(US, -1), "22.5\u00a0ksi"},
		{Temperature(21.1111111).Format(US, -1), "70\u00a0°F"},
		{Angle(12.5).Format(US, -1), "12.5°"},
		{Length(math.Inf(1)).Format(US, -1), "∞\u00a0in"},
		{Length(math.NaN()).Format(US, -1), "–\u00a0in"},
		{Numbers.Format(0.9, US, -1), "0.9"},
		{Numbers.Format(0.386718, US, -1), "0.3867"},
		{Numbers.Format(4.4e9, US, -1), "4.4×10⁹"},
		{Numbers.Format(-1.25e-5, US, -1), "−1.25×10⁻⁵"},
		{Percents.Format(0.025, US, -1), "2.5%"},
		{Strains.Format(350e-6, US, -1), "350\u00a0µε"},
		{Lengths.Working(0.031*25.4, US), "0.031\u00a0in"},
		{Lengths.Working(0.03125*25.4, US), "0.03125\u00a0in"},
		{Lengths.Working(0.0312567*25.4, US), "0.03126\u00a0in"},
		{Stiffnesses.Working(175126.835, SI), "175.1\u00a0kN/mm"},
		{Inertias.Format(3763e6, SI, -1), "3763.00\u00a0×10⁶ mm⁴"},
		{FeetInches(25158.7, 16), "82'-6 1/2\""},
		{FeetInches(25146, 16), "82'-6\""},
		{FeetInches(-762, 8), "−2'-6\""},
		{FeetInches(609.5, 8), "2'-0\""},
		{FeetInches(-0.1, 8), "0'-0\""},
		{FeetInches(7.9375, 7), "0'-0 5/16\""},
		{Length(7.9375).Exact(US), "0.3125"},
		{Length(math.NaN()).Exact(US), ""},
		{Force(0).Exact(US), "0"},
		{Length(1e-9).Exact(SI), "0.000000001"},
	} {
		require.Equal(t, c.want, c.got)
	}
}

func TestInRange(t *testing.T) {
	t.Parallel()
	inf := Length(math.Inf(1))
	require.NoError(t, InRange("web thickness", Length(7.9375), 0, 50.8, US))
	require.NoError(t, InRange("web thickness", Length(0), 0, 50.8, US))
	require.NoError(t, InRange("web thickness", Length(1e6), 0, inf, US))
	for _, c := range []struct {
		v, min, max Length
		sys         System
		want        string
	}{
		{76.2, 0, 50.8, US, "web thickness: must lie from 0\u00a0in to 2\u00a0in, got 3\u00a0in"},
		{-1, 0, inf, SI, "web thickness: must be at least 0\u00a0mm, got −1\u00a0mm"},
		{60, -inf, 50.8, SI, "web thickness: must be at most 50.8\u00a0mm, got 60\u00a0mm"},
		{inf, 0, inf, SI, "web thickness: must be at least 0\u00a0mm, got no number"},
		{Length(math.NaN()), -inf, inf, SI, "web thickness: must be a finite number, got no number"},
	} {
		err := InRange("web thickness", c.v, c.min, c.max, c.sys)
		require.EqualError(t, err, c.want)
		_, ok := errors.AsType[*RangeError](err)
		require.True(t, ok)
		require.ErrorContains(t, For("flange", err), "flange: must")
	}
	require.NoError(t, For("web", nil))
}

func TestParseSystem(t *testing.T) {
	t.Parallel()
	for _, s := range []System{US, SI} {
		got, err := ParseSystem(string(s))
		require.NoError(t, err)
		require.Equal(t, s, got)
		require.NotEmpty(t, got.Name())
	}
	_, err := ParseSystem("cgs")
	require.Error(t, err)
}

// Source and tags in the header of the file.
func TestPublishedFactors(t *testing.T) {
	t.Parallel()
	y := published.Open(t, "units.csv")
	for _, row := range y.Rows {
		k, ok := KindNamed(row.Text("quantity"))
		require.True(t, ok, row)
		read := func(x float64) float64 {
			got, err := k.Parse(strconv.FormatFloat(x, 'f', -1, 64)+" "+row.Text("unit"), SI)
			require.NoError(t, err, row)
			return got
		}
		factor, offset := row.Number("factor"), row.Number("offset")
		// Seven printed digits are good to 5 in the eighth at worst, for 1.000000.
		if offset == 0 {
			y.Within(row, "factor", read(1), 5e-7*factor)
		} else {
			y.Within(row, "factor", read(1)-read(0), 5e-7)
			y.Within(row, "offset", read(0), 5e-6)
		}
		for _, x := range []float64{0.3125, 50, -40} {
			require.InDelta(t, x*factor+offset, read(x), 5e-7*math.Max(math.Abs(x*factor), math.Abs(offset)), row)
		}
	}
	y.Done(24)
}

func TestTypedComesBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		k := Kind(rapid.IntRange(0, int(kindCount)-1).Draw(t, "kind"))
		sys := rapid.SampledFrom([]System{US, SI}).Draw(t, "system")
		units := rapid.Int64Range(-99999999, 99999999).Draw(t, "digits")
		decimals := rapid.IntRange(0, 6).Draw(t, "decimals")
		typed := trim(strconv.FormatFloat(float64(units)/math.Pow10(decimals), 'f', decimals, 64))
		v, err := k.Parse(typed, sys)
		require.NoError(t, err)
		if k == Temperatures { // a zero point costs digits near it
			x, _ := strconv.ParseFloat(typed, 64)
			y, err := strconv.ParseFloat(k.Exact(v, sys), 64)
			require.NoError(t, err)
			require.InDelta(t, x, y, 1e-9*math.Max(1, math.Abs(x)))
			return
		}
		require.Equal(t, typed, k.Exact(v, sys))
	})
}

func TestTemperatureComesBack(t *testing.T) {
	t.Parallel()
	for tenth := -600; tenth <= 2120; tenth++ {
		typed := trim(strconv.FormatFloat(float64(tenth)/10, 'f', 1, 64))
		for _, sys := range []System{US, SI} {
			v, err := ParseTemperature(typed, sys)
			require.NoError(t, err)
			require.Equal(t, typed, v.Exact(sys))
		}
	}
	v, err := ParseTemperature("32 F", SI)
	require.NoError(t, err)
	require.Equal(t, "0", v.Exact(SI))
}

func TestShownAndHeldAreInverse(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		k := Kind(rapid.IntRange(0, int(kindCount)-1).Draw(t, "kind"))
		sys := rapid.SampledFrom([]System{US, SI}).Draw(t, "system")
		x := rapid.Float64Range(-1e6, 1e6).Draw(t, "x")
		require.InDelta(t, x, k.Shown(sys, k.Held(sys, x)), 1e-9*math.Max(1, math.Abs(x)))
	})
}

func TestFractionsReadAsTheirValue(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		whole := rapid.IntRange(0, 500).Draw(t, "whole")
		d := rapid.SampledFrom([]int{2, 4, 8, 16, 32, 64}).Draw(t, "denominator")
		n := rapid.IntRange(1, d-1).Draw(t, "numerator")
		gap := rapid.SampledFrom([]string{" ", "-", " - "}).Draw(t, "gap")
		v, err := ParseLength(strconv.Itoa(whole)+gap+strconv.Itoa(n)+"/"+strconv.Itoa(d), US)
		require.NoError(t, err)
		require.InDelta(t, (float64(whole)+float64(n)/float64(d))*25.4, float64(v), 1e-9)
	})
}

func TestFeetInchesReadsBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		l := Length(rapid.Float64Range(-1e5, 1e5).Draw(t, "mm"))
		back, err := ParseLength(FeetInches(l, 16), SI)
		require.NoError(t, err)
		require.InDelta(t, float64(l), float64(back), 25.4/32+1e-9)
	})
}

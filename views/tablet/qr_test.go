package tablet_test

import (
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/views/tablet"
)

// modules reads a drawing back into dark and light, the quiet zone included.
func modules(t *testing.T, c tablet.Code) [][]bool {
	t.Helper()
	out := make([][]bool, c.Size)
	for i := range out {
		out[i] = make([]bool, c.Size)
	}
	runs := regexp.MustCompile(`M(\d+) (\d+)h(\d+)v1h-(\d+)z`).FindAllStringSubmatch(c.Path, -1)
	require.NotEmpty(t, runs)
	for _, m := range runs {
		n := make([]int, 5)
		for i := 1; i < 5; i++ {
			v, err := strconv.Atoi(m[i])
			require.NoError(t, err)
			n[i] = v
		}
		for x := n[1]; x < n[1]+n[3]; x++ {
			require.False(t, out[n[2]][x], "no module twice")
			out[n[2]][x] = true
		}
	}
	return out
}

// The marks of a symbol as ISO/IEC 18004 fixes them: a quiet zone of 4 modules,
// three finder patterns, 17 + 4 x version modules a side, and a format word (xor
// 101010000010010) whose first two bits are 10 for error correction level H. The
// figures are from memory of the standard.
func TestSymbolIsBuiltAsTheStandardSays(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"https://ends.example.org/p/small/tablet/at/2F-3", "https://e.test/p/a/tablet/at/1N-1", strings.Repeat("https://a.long.name.example.org/", 4)} {
		c, err := tablet.Encode(text)
		require.NoError(t, err)
		m := modules(t, c)
		side := c.Size - 8
		require.Zero(t, (side-17)%4)
		for i := range c.Size {
			for _, j := range []int{0, 1, 2, 3, c.Size - 4, c.Size - 3, c.Size - 2, c.Size - 1} {
				require.False(t, m[i][j] || m[j][i], "quiet zone")
			}
		}
		at := func(x, y int) bool { return m[y+4][x+4] }
		for _, corner := range [][2]int{{0, 0}, {side - 7, 0}, {0, side - 7}} {
			for y := range 7 {
				for x := range 7 {
					ring := max(max(x, 6-x), max(y, 6-y))
					require.Equal(t, ring != 5, at(corner[0]+x, corner[1]+y), "finder pattern")
				}
			}
		}
		word := 0
		for _, p := range [][2]int{{0, 8}, {1, 8}, {2, 8}, {3, 8}, {4, 8}, {5, 8}, {7, 8}, {8, 8}, {8, 7}, {8, 5}, {8, 4}, {8, 3}, {8, 2}, {8, 1}, {8, 0}} {
			word <<= 1
			if at(p[0], p[1]) {
				word |= 1
			}
		}
		require.Equal(t, 0b10, (word^0b101010000010010)>>13, "level H")
	}
	_, err := tablet.Encode(strings.Repeat("x", 4000))
	require.Error(t, err)
}

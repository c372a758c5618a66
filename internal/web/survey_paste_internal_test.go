package web

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/units"
)

func isLength(text string) bool { _, err := units.ParseLength(text, units.US); return err == nil }

func TestReadPaste(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		text     string
		want     []pasted
		problems []string
	}{
		"tabs":                {"0\t1 1/2\t5/16\n3\t1 1/2\tNA\n", []pasted{{1, "T", "0", "1 1/2", "5/16"}, {2, "T", "3", "1 1/2", "NA"}}, nil},
		"blanks":              {"0 1 .29", []pasted{{1, "T", "0", "1", ".29"}}, nil},
		"head":                {"x;z;t;face\r\n0;1;.29;left", []pasted{{2, "L", "0", "1", ".29"}}, nil},
		"face first":          {"R,0,1,.29\nt,0,1,.3", []pasted{{1, "R", "0", "1", ".29"}, {2, "T", "0", "1", ".3"}}, nil},
		"trailing tabs":       {"0\t1\t.29\t\t", []pasted{{1, "T", "0", "1", ".29"}}, nil},
		"table":               {"\t0\t3\n4\t.5\t\n1\t\tNA", []pasted{{2, "T", "0", "4", ".5"}, {3, "T", "3", "1", "NA"}}, nil},
		"fractions by blanks": {"0 1 1/2 5/16", nil, []string{"line 1: of four values one must be the face, L, R or T"}},
		"two values":          {"0\t1\n\n0\t1\t2", []pasted{{3, "T", "0", "1", "2"}}, []string{"line 1: must hold x, z and the thickness, got 2 values; part values with tabs or semicolons where fractions have blanks"}},
		"no height":           {"z\\x\t0\n\t.5", nil, []string{"line 2: the first column must say z"}},
		"no place":            {"z\\x\t0\n1\t.5\t.6", []pasted{{2, "T", "0", "1", ".5"}}, []string{"line 2: value 3 stands under no x"}},
		"empty":               {" \n\t\n", nil, nil},
	} {
		got, problems := readPaste(c.text, "T", isLength)
		require.Equal(t, c.want, got, name)
		require.Equal(t, c.problems, problems, name)
	}
}

func FuzzReadPaste(f *testing.F) {
	for _, s := range []string{"0\t1\t.29", "\t0\t3\n4\t.5\t", "x;z;t\n1;2;3", "L 0 1 5/16", "a,b\nc,d", "\r\r\n;;;\t", "z\\x 0 3\n1 .5 .6"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, _ := readPaste(text, "T", isLength)
		lines := strings.Count(strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n"), "\n") + 1
		for _, p := range got {
			require.NotEmpty(t, p.x)
			require.NotEmpty(t, p.z)
			require.NotEmpty(t, p.t)
			require.Contains(t, "TLR", p.face)
			require.True(t, p.line >= 1 && p.line <= lines)
		}
	})
}

// What is laid out on a grid and back again is what was there.
func TestGridKeepsEveryReading(t *testing.T) {
	t.Parallel()
	typed := newTyped(2, 2)
	typed.x, typed.z = []string{"0", "3"}, []string{"4", "1"}
	typed.cells["T"][0][0], typed.cells["L"][0][0], typed.cells["R"][1][1] = "5/16", "0.3", "NA"
	typed.text["points"] = "9\t9\t0.5"
	for name, v := range map[string]string{"start_x": "1", "step_x": "1", "count_x": "2", "start_z": "1", "step_z": "3", "count_z": "2"} {
		typed.text[name] = v
	}
	require.Nil(t, typed.layOut(units.US, kept{}))
	require.Equal(t, []string{"1", "2"}, typed.x)
	require.Equal(t, []string{"4", "1"}, typed.z)
	require.Equal(t, "9\t9\t0.5\nT\t0\t4\t5/16\nL\t0\t4\t0.3\nR\t3\t1\tNA", typed.text["points"])
	require.Nil(t, typed.takeList(units.US, kept{}))
	require.Equal(t, []string{"0", "3", "9"}, typed.x)
	require.Equal(t, []string{"9", "4", "1"}, typed.z)
	require.Equal(t, []string{"5/16", "0.3", "NA", "0.5"}, []string{typed.cells["T"][1][0], typed.cells["L"][1][0], typed.cells["R"][2][1], typed.cells["T"][0][2]})
	require.Empty(t, typed.text["points"])
}

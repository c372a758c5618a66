package logfile_test

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/logfile"
)

func gz(t *testing.T, text string) []byte {
	t.Helper()
	b := &bytes.Buffer{}
	w := gzip.NewWriter(b)
	_, err := w.Write([]byte(text))
	require.NoError(t, err)
	require.NoError(t, w.Close())
	return b.Bytes()
}

func zipped(t *testing.T, files map[string]string, order ...string) []byte {
	t.Helper()
	b := &bytes.Buffer{}
	z := zip.NewWriter(b)
	for _, name := range order {
		w, err := z.Create(name)
		require.NoError(t, err)
		_, err = w.Write([]byte(files[name]))
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return b.Bytes()
}

var limits = logfile.Limits{Bytes: 50 << 20}

func unpacked(t *testing.T, name string, data []byte, lim logfile.Limits) (int, error) {
	t.Helper()
	parts, err := logfile.Unpack(name, bytes.NewReader(data), int64(len(data)), lim)
	if err != nil {
		return 0, err
	}
	r := logfile.ReadParts(parts, plain(), concrete(time.UTC))
	for r.Next() {
	}
	return r.Report().Rows, r.Err()
}

func TestUnpacks(t *testing.T) {
	t.Parallel()
	start := time.Date(2026, 5, 3, 10, 0, 0, 0, time.UTC)
	one, two := every(start, time.Minute, steady(50)...), every(start.Add(50*time.Minute), time.Minute, steady(30)...)
	for name, data := range map[string][]byte{
		"a.csv": []byte(one), "a.csv.gz": gz(t, one), "a.zip": zipped(t, map[string]string{"a.csv": one}, "a.csv"),
	} {
		rows, err := unpacked(t, name, data, limits)
		require.NoError(t, err, name)
		require.Equal(t, 50, rows, name)
	}
	// Files of an archive are one recording, in order of time whatever their names.
	rows, err := unpacked(t, "a.zip", zipped(t, map[string]string{"1.csv": two, "2.csv": one, ".DS_Store": "x"}, "1.csv", "2.csv", ".DS_Store"), limits)
	require.NoError(t, err)
	require.Equal(t, 80, rows)
}

func TestRefusesArchives(t *testing.T) {
	t.Parallel()
	start := time.Date(2026, 5, 3, 10, 0, 0, 0, time.UTC)
	text := every(start, time.Minute, steady(50)...)
	late := every(start.Add(20*time.Minute), time.Minute, steady(50)...)
	bomb := "time,T\n2026-05-03 10:00,20\n" + strings.Repeat("\n", 60<<20)
	small := bomb[:20<<20]
	// A list that claims less than the archive holds.
	liar := zipped(t, map[string]string{"a.csv": small}, "a.csv")
	i := bytes.LastIndex(liar, []byte("PK\x01\x02"))
	copy(liar[i+24:], []byte{0, 1, 0, 0})
	many := map[string]string{}
	var names []string
	for i := range 300 {
		n := strings.Repeat("a", i+1) + ".csv"
		many[n], names = "x", append(names, n)
	}
	locked := zipped(t, map[string]string{"a.csv": text}, "a.csv")
	locked[bytes.LastIndex(locked, []byte("PK\x01\x02"))+8] |= 1
	for name, c := range map[string]struct {
		file string
		data []byte
		says string
	}{
		"gzip bomb":          {"a.csv.gz", gz(t, bomb), "times its size"},
		"gzip bomb by ratio": {"a.csv.gz", gz(t, small), "a.csv.gz, line "},
		"zip bomb":           {"a.zip", zipped(t, map[string]string{"a.csv": bomb}, "a.csv"), "would unpack to 60 MB"},
		"zip bomb by ratio":  {"a.zip", zipped(t, map[string]string{"a.csv": small}, "a.csv"), "200 times its packed size"},
		"zip that lies":      {"a.zip", liar, "damaged"},
		"too many files":     {"a.zip", zipped(t, many, names...), "holds 300 files"},
		"a photo inside":     {"a.zip", zipped(t, map[string]string{"a.jpg": "\xff\xd8\xff\xe0\x00\x10JFIF"}, "a.jpg"), "a.jpg: the file in the archive is a picture"},
		"an archive inside":  {"a.zip", zipped(t, map[string]string{"b.gz": string(gz(t, text))}, "b.gz"), "is gzip"},
		"a password":         {"a.zip", locked, "locked with a password"},
		"a damaged archive":  {"a.zip", []byte("PK\x03\x04 and then nothing"), "damaged"},
		"a damaged gzip":     {"a.csv.gz", gz(t, text)[:40], "damaged"},
		"a workbook":         {"a.xlsx", zipped(t, map[string]string{"[Content_Types].xml": "<x/>"}, "[Content_Types].xml"), "save the sheet as CSV"},
		"files that overlap": {"a.zip", zipped(t, map[string]string{"1.csv": text, "2.csv": late}, "1.csv", "2.csv"), "2.csv, line 2, column 1: 2.csv begins before 1.csv ends"},
		"a text too large":   {"a.csv", []byte(bomb), "larger than the 50 MB"},
		"an empty file":      {"a.csv", nil, "empty"},
	} {
		_, err := unpacked(t, c.file, c.data, limits)
		require.ErrorContains(t, err, c.says, name)
		k := fault.KindOf(err)
		require.True(t, k == fault.Refused || k == fault.TooLarge, "%s: %v", name, k)
	}
}

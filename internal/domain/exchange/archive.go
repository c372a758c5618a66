package exchange

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"path"
	"strings"
)

// grids turns files into tables: a workbook, a zip of text tables, or text tables
// by themselves.
func grids(files []File, ps *Problems) []grid {
	var out []grid
	total := 0
	for _, f := range files {
		total += len(f.Data)
		if total > MaxBytes {
			ps.add(Problem{Table: f.Name, Limit: fmt.Sprintf("import must be at most %d bytes, got %d", MaxBytes, total)})
			return nil
		}
	}
	for _, f := range files {
		if bytes.HasPrefix(f.Data, []byte("PK\x03\x04")) || bytes.HasPrefix(f.Data, []byte("PK\x05\x06")) {
			out = append(out, unpack(f, ps)...)
		} else if bytes.HasPrefix(f.Data, []byte{0xD0, 0xCF, 0x11, 0xE0}) {
			ps.add(Problem{Table: f.Name, Limit: "is a workbook of the old kind, or one with a password: save it as .xlsx without a password"})
		} else {
			out = append(out, textTable(f, ps)...)
		}
	}
	seen := map[string]bool{}
	for _, g := range out {
		if seen[g.name] {
			ps.add(Problem{Table: g.name, Limit: "two files hold this table"})
		}
		seen[g.name] = true
	}
	return out
}

func unpack(f File, ps *Problems) []grid {
	refuse := func(format string, args ...any) []grid {
		ps.add(Problem{Table: f.Name, Limit: fmt.Sprintf(format, args...)})
		return nil
	}
	z, err := zip.NewReader(bytes.NewReader(f.Data), int64(len(f.Data)))
	if err != nil {
		return refuse("cannot be read as a zip archive or workbook")
	}
	if len(z.File) > 10*MaxFiles {
		return refuse("archive must hold at most %d files, got %d", 10*MaxFiles, len(z.File))
	}
	var claimed uint64
	workbook := false
	for _, e := range z.File {
		claimed += e.UncompressedSize64
		if claimed > MaxUnpacked || e.UncompressedSize64 > MaxUnpacked {
			return refuse("archive must unpack to at most %d bytes", MaxUnpacked)
		}
		workbook = workbook || strings.EqualFold(e.Name, "[Content_Types].xml")
	}
	if workbook {
		if !wellFormed(z) {
			return refuse("cannot be read: a sheet of the workbook is damaged")
		}
		return readWorkbook(f.Data, ps)
	}
	var out []grid
	left := int64(MaxUnpacked)
	for _, e := range z.File {
		base := path.Base(strings.ReplaceAll(e.Name, "\\", "/"))
		if e.FileInfo().IsDir() || !isText(base) || strings.HasPrefix(base, ".") || strings.HasPrefix(e.Name, "__MACOSX") {
			continue
		}
		r, err := e.Open()
		if err != nil {
			return refuse("%s cannot be unpacked", base)
		}
		// The size in the archive's own list is only a claim.
		data, err := io.ReadAll(io.LimitReader(r, left+1))
		_ = r.Close()
		if err != nil {
			return refuse("%s cannot be unpacked", base)
		}
		if left -= int64(len(data)); left < 0 {
			return refuse("archive must unpack to at most %d bytes", MaxUnpacked)
		}
		out = append(out, textTable(File{base, data}, ps)...)
	}
	if len(out) == 0 && ps.Total == 0 {
		return refuse("archive holds no table: files must be called %s, ending in .csv", tableNames())
	}
	return out
}

func isText(name string) bool {
	switch strings.ToLower(path.Ext(name)) {
	case ".csv", ".tsv", ".txt":
		return true
	}
	return false
}

// textTable reads one text file; its name, without the ending, is the table, also
// after a prefix such as "bridge-" or "bridge_".
func textTable(f File, ps *Problems) []grid {
	base := path.Base(strings.ReplaceAll(f.Name, "\\", "/"))
	stem := strings.TrimSuffix(base, path.Ext(base))
	t, ok := tableNamed(stem)
	if i := strings.LastIndexAny(stem, "-_ "); !ok && i >= 0 {
		t, ok = tableNamed(stem[i+1:])
	}
	if !ok {
		ps.add(Problem{Table: base, Limit: "the file's name must be that of a table: " + tableNames()})
		return nil
	}
	if g, ok := readCSV(t.name, f.Data, ps); ok {
		return []grid{g}
	}
	return nil
}

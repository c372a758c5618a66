package web

import (
	"fmt"
	"strings"
)

// pasted is one reading from a list or a table, as typed.
type pasted struct {
	line          int // counted from 1
	face, x, z, t string
}

// readPaste takes readings from text that comes from a spreadsheet or a gauge:
// a list of x, z, t with the face before or behind, or a table with x along its
// first line and z down its first column. Values are parted by tabs, semicolons,
// commas or blanks. number tells whether a text can be a length. Lines that cannot
// be read are named, each with its reason.
func readPaste(text, face string, number func(string) bool) (out []pasted, problems []string) {
	lines := strings.Split(strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n"), "\n")
	sep := separator(text)
	var rows [][]string
	var at []int
	for i, line := range lines {
		if strings.TrimSpace(line) == "" {
			continue
		}
		rows, at = append(rows, split(line, sep)), append(at, i+1)
	}
	if len(rows) == 0 {
		return nil, nil
	}
	if isTable(rows, number) {
		return readTable(rows, at, face)
	}
	for i, row := range rows {
		p, why := readLine(row, face, number)
		switch {
		case why == "":
			p.line = at[i]
			out = append(out, p)
		case i == 0 && !anyNumber(row, number):
			// the names of the columns
		default:
			problems = append(problems, fmt.Sprintf("line %d: %s", at[i], why))
		}
	}
	return out, problems
}

// separator picks what parts the values: the first of tab, semicolon and comma
// that the text holds, or blanks.
func separator(text string) string {
	for _, sep := range []string{"\t", ";", ","} {
		if strings.Contains(text, sep) {
			return sep
		}
	}
	return ""
}

func split(line, sep string) []string {
	if sep == "" {
		return strings.Fields(line)
	}
	parts := strings.Split(line, sep)
	for i := range parts {
		parts[i] = strings.TrimSpace(parts[i])
	}
	return parts
}

// isTable reports whether the first line is a head: its first place is empty or a
// word, and numbers follow.
func isTable(rows [][]string, number func(string) bool) bool {
	head := rows[0]
	if len(rows) < 2 || len(head) < 2 || number(head[0]) {
		return false
	}
	if _, isFace := faceTyped(head[0]); isFace && len(head) == 4 {
		return false
	}
	for _, x := range head[1:] {
		if x != "" && !number(x) {
			return false
		}
	}
	return anyNumber(head[1:], number)
}

func anyNumber(row []string, number func(string) bool) bool {
	for _, v := range row {
		if number(v) {
			return true
		}
	}
	return false
}

func readTable(rows [][]string, at []int, face string) (out []pasted, problems []string) {
	head := rows[0]
	for i, row := range rows[1:] {
		for c, t := range row[1:] {
			if t == "" {
				continue
			}
			if c+1 >= len(head) || head[c+1] == "" {
				problems = append(problems, fmt.Sprintf("line %d: value %d stands under no x", at[i+1], c+2))
				continue
			}
			if row[0] == "" {
				problems = append(problems, fmt.Sprintf("line %d: the first column must say z", at[i+1]))
				break
			}
			out = append(out, pasted{line: at[i+1], face: face, x: head[c+1], z: row[0], t: t})
		}
	}
	return out, problems
}

// readLine takes one reading of a list.
func readLine(row []string, face string, number func(string) bool) (pasted, string) {
	for len(row) > 3 && row[len(row)-1] == "" {
		row = row[:len(row)-1]
	}
	if len(row) == 4 {
		if f, ok := faceTyped(row[0]); ok {
			face, row = f, row[1:]
		} else if f, ok := faceTyped(row[3]); ok {
			face, row = f, row[:3]
		} else {
			return pasted{}, "of four values one must be the face, L, R or T"
		}
	}
	if len(row) != 3 {
		return pasted{}, fmt.Sprintf("must hold x, z and the thickness, got %d values; part values with tabs or semicolons where fractions have blanks", len(row))
	}
	for i, name := range []string{"x", "z"} {
		if !number(row[i]) {
			return pasted{}, fmt.Sprintf("%s must be a length, got %.40q", name, row[i])
		}
	}
	if !number(row[2]) && !noAccess(row[2]) {
		return pasted{}, fmt.Sprintf("the thickness must be a length or NA, got %.40q", row[2])
	}
	return pasted{face: face, x: row[0], z: row[1], t: row[2]}, ""
}

// faceTyped reads a face.
func faceTyped(text string) (string, bool) {
	switch strings.ToLower(text) {
	case "l", "left":
		return "L", true
	case "r", "right":
		return "R", true
	case "t", "through":
		return "T", true
	}
	return "", false
}

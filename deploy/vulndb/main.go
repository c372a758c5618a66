// Command vulndb lays out the reports of the module golang.org/x/vulndb as a database that govulncheck reads from a folder,
// for machines that reach a module proxy but not the vulnerability service.
//
// Usage: vulndb MODULE-FOLDER OUTPUT-FOLDER
package main

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"
)

// report is what the indexes need of a report in the OSV format (https://ossf.github.io/osv-schema/).
type report struct {
	ID       string    `json:"id"`
	Modified time.Time `json:"modified"`
	Affected []struct {
		Package struct {
			Name string `json:"name"`
		} `json:"package"`
		Ranges []struct {
			Events []struct {
				Fixed string `json:"fixed"`
			} `json:"events"`
		} `json:"ranges"`
	} `json:"affected"`
}

// entry is one report in the index of a module.
type entry struct {
	ID       string    `json:"id"`
	Modified time.Time `json:"modified"`
	Fixed    string    `json:"fixed,omitempty"`
}

type module struct {
	Path  string  `json:"path"`
	Vulns []entry `json:"vulns"`
}

func main() {
	if len(os.Args) != 3 {
		fmt.Fprintln(os.Stderr, "usage: vulndb MODULE-FOLDER OUTPUT-FOLDER")
		os.Exit(2)
	}
	if err := build(os.Args[1], os.Args[2]); err != nil {
		fmt.Fprintln(os.Stderr, "vulndb:", err)
		os.Exit(1)
	}
}

func build(from, to string) error {
	files, err := filepath.Glob(filepath.Join(from, "data", "osv", "*.json"))
	if err != nil {
		return err
	}
	if len(files) == 0 {
		return fmt.Errorf("no reports in %s", from)
	}
	for _, dir := range []string{"ID", "index"} {
		if err := os.MkdirAll(filepath.Join(to, dir), 0o755); err != nil {
			return err
		}
	}
	modules := map[string][]entry{}
	var newest time.Time
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			return err
		}
		var r report
		if err := json.Unmarshal(text, &r); err != nil {
			return fmt.Errorf("%s: %w", f, err)
		}
		if r.Modified.After(newest) {
			newest = r.Modified
		}
		for _, path := range affected(r) {
			modules[path] = append(modules[path], entry{ID: r.ID, Modified: r.Modified, Fixed: fixed(r, path)})
		}
		if err := os.WriteFile(filepath.Join(to, "ID", r.ID+".json"), text, 0o644); err != nil {
			return err
		}
	}
	index := make([]module, 0, len(modules))
	for path, vulns := range modules {
		index = append(index, module{Path: path, Vulns: vulns})
	}
	slices.SortFunc(index, func(a, b module) int { return cmp.Compare(a.Path, b.Path) })
	return errors.Join(
		writeJSON(filepath.Join(to, "index", "modules.json"), index),
		writeJSON(filepath.Join(to, "index", "db.json"), map[string]time.Time{"modified": newest}))
}

func affected(r report) []string {
	var out []string
	for _, a := range r.Affected {
		if !slices.Contains(out, a.Package.Name) {
			out = append(out, a.Package.Name)
		}
	}
	return out
}

// fixed is the last version named as fixed. It only spares govulncheck from opening reports that cannot apply.
func fixed(r report, path string) string {
	last := ""
	for _, a := range r.Affected {
		if a.Package.Name != path {
			continue
		}
		for _, g := range a.Ranges {
			for _, e := range g.Events {
				if e.Fixed != "" {
					last = e.Fixed
				}
			}
		}
	}
	return last
}

func writeJSON(path string, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return err
	}
	return os.WriteFile(path, b, 0o644)
}

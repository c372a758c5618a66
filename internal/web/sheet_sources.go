package web

import (
	"cmp"
	"slices"
	"strings"
	"unicode"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/sheet"
)

// sheetSources lists each document that the checks and their lines cite, with the
// clauses used and how well they are confirmed.
func (e *endReader) sheetSources(parts []computed) []sheet.Source {
	type document struct {
		name string
		tag  basis.Tag
	}
	used := map[document][]string{}
	cite := func(c calc.Clause) {
		if c.Document == "" {
			return
		}
		d := document{calc.Clause{Document: c.Document, Edition: c.Edition}.String(), c.Tag}
		if _, ok := used[d]; !ok {
			used[d] = nil
		}
		if c.Article != "" {
			used[d] = append(used[d], c.Article)
		}
	}
	for _, p := range parts {
		for _, l := range p.pad.Lines() {
			cite(l.Clause)
		}
		for _, c := range p.ev.Checks {
			cite(c.Clause)
			for _, l := range c.Lines {
				cite(l.Clause)
			}
		}
	}
	var out []sheet.Source
	for d, articles := range used {
		slices.Sort(articles)
		out = append(out, sheet.Source{Document: d.name, Clauses: cmp.Or(strings.Join(slices.Compact(articles), "; "), "–"), Tag: string(d.tag)})
	}
	slices.SortFunc(out, func(a, b sheet.Source) int {
		return cmp.Or(cmp.Compare(a.Document, b.Document), cmp.Compare(a.Tag, b.Tag))
	})
	if sec, ok := e.sc.Section(e.rec.End.SectionID); ok && sec.Source != "" {
		out = append(out, sheet.Source{Document: sec.Source, Clauses: "sizes of " + sec.Name, Tag: "as entered with the section"})
	}
	return out
}

// sheetSymbols lists the symbols of the sheet with all that they stand for.
func sheetSymbols(parts []computed) []sheet.Symbol {
	names := map[string][]string{}
	add := func(symbol, name string) {
		if symbol != "" && name != "" && !slices.Contains(names[symbol], name) {
			names[symbol] = append(names[symbol], name)
		}
	}
	for _, p := range parts {
		all := p.pad.Lines()
		for _, c := range p.ev.Checks {
			all = append(all, c.Lines...)
		}
		for _, l := range all {
			add(l.Symbol, l.Name)
			if l.Formula != nil {
				for _, x := range l.Formula.Def().Params {
					add(x.Symbol, x.Name)
				}
			}
		}
	}
	keys := make([]string, 0, len(names))
	for s := range names {
		keys = append(keys, s)
	}
	slices.SortFunc(keys, func(a, b string) int { return cmp.Or(cmp.Compare(letterOf(a), letterOf(b)), cmp.Compare(a, b)) })
	var out []sheet.Symbol
	for _, s := range keys {
		out = append(out, sheet.Symbol{Math: `<math xmlns="http://www.w3.org/1998/Math/MathML"><mrow>` + calc.SymbolMathML(s) + `</mrow></math>`, Name: strings.Join(names[s], "; ")})
	}
	return out
}

// letterOf orders symbols as a reader looks them up: Latin letters by the
// alphabet, small and large together, then Greek ones.
func letterOf(symbol string) string {
	text := calc.SymbolText(symbol)
	first := []rune(text)[0]
	order := "a"
	if first > unicode.MaxLatin1 {
		order = "b"
	}
	return order + strings.ToLower(text)
}

// sheetBasis lists the settings that the calculation read and those among all that
// the owner changed, and says in words how they stand to the defaults.
func (e *endReader) sheetBasis(read map[basis.Key]bool) (used, changed []sheet.Setting, words string) {
	b := e.sc.Basis()
	differs := b.Changed()
	stored := map[string]repair.BasisSetting{}
	for _, row := range e.sc.Settings {
		stored[row.Key] = row
	}
	doubted, elsewhere := 0, 0
	for _, d := range basis.Definitions() {
		_, other := differs[d.Key]
		if !read[d.Key] {
			elsewhere += boolInt(other)
			continue
		}
		k, _ := units.KindNamed(string(d.Unit))
		row := sheet.Setting{Name: d.Group + ": " + d.Name, Value: k.Working(b.Value(d.Key), e.sys), Default: k.Working(d.Default, e.sys), Source: d.Source, Tag: string(d.Tag)}
		if set, ok := stored[string(d.Key)]; ok {
			row.Source, row.Tag, row.By = set.Source, "set", e.name(set.SetBy)+", "+e.when(set.SetAt)[:len("2006-01-02")]
		}
		row.Doubt = row.By == "" && (d.Tag == basis.Memory || d.Tag == basis.Proposal || d.Tag == basis.Common)
		doubted += boolInt(row.Doubt)
		used = append(used, row)
		if other {
			changed = append(changed, row)
		}
	}
	words = "The calculation read " + numberOf(len(used)) + " settings" + " of the design basis: " +
		numberOf(len(changed)) + " differ from their defaults, " + numberOf(doubted) + " stand from memory, as our proposal or as common practice. All are listed at the end of this sheet."
	if elsewhere > 0 {
		words += " The owner changed " + numberOf(elsewhere) + " more that this calculation does not read."
	}
	return used, changed, words
}

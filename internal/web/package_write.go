package web

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strconv"

	"endcast/internal/db"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/pack"
	"endcast/migrations"
)

// WritePackage writes the record of a program, or of one end of it, as plain files in
// one zip archive, all of one instant, and returns the SHA-256 of its manifest in hex.
// It reads and writes a little at a time. What a reader could look for and is not in
// the package is named in its README.txt.
func WritePackage(ctx context.Context, store *db.Store, of PackageOf, w io.Writer) (digest string, err error) {
	err = store.Snapshot(ctx, of.Program, of.End, func(snap *db.Snapshot) error {
		p := &packer{of: of, snap: snap, title: snap.Frame.Program.Name}
		root := plainFileName(snap.Frame.Program.Code)
		if snap.End != "" {
			root += "-" + pack.SafeName(snap.End)
		}
		p.out = pack.NewWriter(w, root+"-package", snap.Made)
		for _, part := range []func(context.Context) error{p.people, p.tables, p.ends, p.journal, p.tablets, p.photos, p.rawFiles, p.signatures, p.readme} {
			if err := part(ctx); err != nil {
				return err
			}
		}
		digest, err = p.out.Close()
		return err
	})
	return digest, err
}

type packer struct {
	of      PackageOf
	snap    *db.Snapshot
	out     *pack.Writer
	title   string
	listed  []pack.Table
	missing []string
	numbers struct{ ends, entries, photos, raw int }
}

func (p *packer) lacks(format string, args ...any) {
	p.missing = append(p.missing, fmt.Sprintf(format, args...))
}

// people is the one table that is not a table of the record.
func (p *packer) people(ctx context.Context) error {
	list, err := p.snap.People(ctx)
	if err != nil {
		return err
	}
	p.listed = append(p.listed, pack.Table{Name: "person", Words: "who has or had a part in this program", Columns: []pack.Column{
		{Name: "id", Type: "id", Words: "names the person in every other table"}, {Name: "name", Type: "text", Words: "as the person is called here"},
		{Name: "role", Type: "text", Words: "in this program now; none: no part in it any more"}},
		Rows: func(row func([]*string) error) error {
			for _, x := range list {
				if err := row([]*string{&x.ID, &x.Name, &x.Role}); err != nil {
					return err
				}
			}
			return nil
		}})
	return nil
}

// tables writes every table as CSV, and all of them as one workbook.
func (p *packer) tables(ctx context.Context) error {
	for _, t := range p.snap.Tables() {
		words := tableWords[t.Name][1]
		if words == "" {
			words = plainWord(t.Name)
		}
		out := pack.Table{Name: t.Name, Words: words, Rows: func(row func([]*string) error) error { return p.snap.Rows(ctx, t, row) }}
		if p.snap.End != "" && !t.OfEnd() {
			out.Words += " (of the whole program)"
		}
		for _, c := range t.Columns {
			unit, words := describeColumn(c)
			out.Columns = append(out.Columns, pack.Column{Name: c.Name, Type: c.Type, Unit: unit, Words: words})
		}
		p.listed = append(p.listed, out)
	}
	for i := range p.listed {
		t := &p.listed[i]
		err := p.out.File("tables/"+t.Name+".csv", func(w io.Writer) error {
			n, err := pack.WriteCSV(w, *t)
			t.Words += "; " + strconv.Itoa(n) + " rows"
			return err
		})
		if err != nil {
			return err
		}
	}
	return p.out.File("tables.xlsx", func(w io.Writer) error {
		left, err := pack.WriteXLSX(w, p.listed)
		p.missing = append(p.missing, left...)
		return err
	})
}

// ends writes the record of each end as one document, and its drawings.
func (p *packer) ends(ctx context.Context) error {
	return p.snap.Ends(ctx, func(sc *repair.Scope, rec *repair.Record) error {
		p.numbers.ends++
		e := &endReader{sc: sc, rec: rec, sys: units.SI, zone: zoneOf(sc.Program)}
		folder := "ends/" + pack.SafeName(rec.End.Name) + "/"
		doc, err := e.document()
		if err != nil {
			return err
		}
		err = p.out.File(folder+"record.json", func(w io.Writer) error {
			enc := json.NewEncoder(w)
			enc.SetIndent("", " ")
			enc.SetEscapeHTML(false)
			return enc.Encode(doc)
		})
		if err != nil {
			return err
		}
		drawings, err := e.drawings(ctx)
		if err != nil {
			p.lacks("A drawing of end %s could not be made: %v.", rec.End.Name, err)
		}
		for _, d := range drawings {
			if err := p.out.File(folder+d.name, func(w io.Writer) error { _, err := w.Write(d.data); return err }); err != nil {
				return err
			}
		}
		return nil
	})
}

func (p *packer) journal(ctx context.Context) error {
	return p.out.File(pack.JournalName, func(w io.Writer) error {
		enc := json.NewEncoder(w)
		return p.snap.Journal(ctx, func(e db.JournalEntry) error {
			p.numbers.entries++
			return enc.Encode(e)
		})
	})
}

func (p *packer) tablets(ctx context.Context) error {
	return p.out.File("tablet.jsonl", func(w io.Writer) error {
		enc := json.NewEncoder(w)
		return p.snap.TabletEntries(ctx, func(raw json.RawMessage) error { return enc.Encode(string(raw)) })
	})
}

var photoEnding = map[string]string{"image/jpeg": ".jpg", "image/png": ".png", "image/webp": ".webp"}

func (p *packer) photos(ctx context.Context) error {
	list, err := p.snap.Photos(ctx)
	if err != nil {
		return err
	}
	if p.of.RecordsOnly {
		if len(list) > 0 {
			p.lacks("%d photographs: this package was asked for with records alone. The table photo has their hashes.", len(list))
		}
		return nil
	}
	sealed := 0
	for _, x := range list {
		if x.Sealed && !p.of.Originals {
			sealed++
			continue
		}
		data, err := p.snap.Photo(ctx, x.SHA256)
		if err != nil {
			if ctx.Err() != nil {
				return err
			}
			p.lacks("The photograph %s: %s.", x.SHA256, fault.Message(err))
			continue
		}
		p.numbers.photos++
		if err := p.out.Packed("photos/"+x.SHA256+photoEnding[x.Kind], func(w io.Writer) error { _, err := w.Write(data); return err }); err != nil {
			return err
		}
	}
	if sealed > 0 {
		p.lacks("%d photographs are sealed: their originals go to the engineer and the administrator alone. The table photo has their hashes.", sealed)
	}
	return nil
}

func (p *packer) rawFiles(ctx context.Context) error {
	list, err := p.snap.RawFiles(ctx)
	if err != nil {
		return err
	}
	if p.of.RecordsOnly {
		if len(list) > 0 {
			p.lacks("%d files of loggers and imports: this package was asked for with records alone. Their tables have the hashes.", len(list))
		}
		return nil
	}
	for _, sha := range list {
		there, err := p.snap.HasRawFile(ctx, sha)
		if err != nil {
			return err
		}
		if !there {
			p.lacks("The file %s: the record has its hash and not its content.", sha)
			continue
		}
		p.numbers.raw++
		if err := p.out.File("files/"+sha, func(w io.Writer) error { return p.snap.RawFile(ctx, sha, w) }); err != nil {
			return err
		}
	}
	return nil
}

// signatures writes what checks the documents without this server: the public keys, and
// for each signature the statement and the two signatures of the server.
func (p *packer) signatures(ctx context.Context) error {
	keys, signed, err := p.snap.Signatures(ctx)
	if err != nil || len(keys) == 0 {
		return err
	}
	put := func(name string, data []byte) error {
		return p.out.File("signatures/"+name, func(w io.Writer) error { _, err := w.Write(data); return err })
	}
	if err := put("keys.pem", keyText(keys)); err != nil {
		return err
	}
	for _, g := range signed {
		if err := put(g.ID+".txt", []byte(g.Statement)); err != nil {
			return err
		}
		if err := put(g.ID+".txt.sig", g.OfStatement); err != nil {
			return err
		}
		if err := put(g.ID+".file.sig", g.OfFile); err != nil {
			return err
		}
	}
	return nil
}

// readme comes last: only then is known what is missing.
func (p *packer) readme(ctx context.Context) error {
	r := p.about()
	if err := p.out.File(pack.CheckName, func(w io.Writer) error { _, err := w.Write(pack.CheckScript); return err }); err != nil {
		return err
	}
	return p.out.File(pack.ReadmeName, func(w io.Writer) error { return pack.WriteReadme(w, r) })
}

func (p *packer) about() pack.Readme {
	prog := p.snap.Frame.Program
	what := "the whole program"
	if p.snap.End != "" {
		what = "girder end " + p.snap.End
	}
	by := "by the command line of the server"
	if p.of.By != "" {
		by = "for " + p.of.By
	}
	r := pack.Readme{Title: prog.Name + ": " + what, Tables: p.listed, Missing: p.missing, Lead: []string{
		fmt.Sprintf("Plain files of %s (code %s, id %s), as the record was on %s UTC, after journal entry %d of its server. Written %s by Endcast, release %s, schema version %d.",
			what, prog.Code, prog.ID, p.snap.Made.UTC().Format("2006-01-02 15:04:05"), p.snap.Last, by, cmp.Or(p.of.Release, "unnamed"), migrations.Latest()),
		fmt.Sprintf("It holds %d girder ends, %d journal entries, %d photographs and %d kept files.", p.numbers.ends, p.numbers.entries, p.numbers.photos, p.numbers.raw),
		"Every capacity, demand and rating here is the result of a calculation by stated rules from what is on record. It does not replace the judgment of a licensed engineer, and local codes come first.",
	}, Files: [][2]string{
		{"tables/*.csv", "every table of the record, described below"},
		{"tables.xlsx", "the same tables as one workbook, a sheet each"},
		{"ends/NAME/record.json", "one end: its rows, its designs with studs and reviews, the stored results, and each check with its working line by line, in SI"},
		{"ends/NAME/drawing.svg", "the end with its latest survey and the design in force, readings, studs and panel"},
		{"ends/NAME/capacity.svg", "what the end carries in each condition beside what it must carry"},
		{pack.JournalName, "the history: every entry with its exact text and hash"},
		{"tablet.jsonl", "what tablets sent, each entry word for word as one JSON text"},
		{"photos/HASH.jpg", "photographs as they came, each under its SHA-256; the table photo says what they show"},
		{"files/HASH", "files of loggers and others as they came, and documents as PDF, each under its SHA-256; curing_log and document name them"},
		{"signatures/", "keys.pem, the public keys of the server; ID.txt, what a person of the table signature said of a document, with ID.txt.sig over it and ID.file.sig over the file of the document: openssl pkeyutl -verify -rawin -pubin -inkey KEY -sigfile SIG -in FILE"},
		{pack.CheckName, "checks this package; needs nothing but Python 3"},
		{pack.ManifestName, "every file but itself and the next with its SHA-256, sorted"},
		{pack.DigestName, "the SHA-256 of " + pack.ManifestName},
	}}
	for _, t := range p.snap.Left() {
		r.Missing = append(r.Missing, "Table "+t.Name+": "+t.Why+".")
	}
	if p.snap.End != "" {
		r.Missing = append(r.Missing, "Journal entries of other ends alone: a package of the whole program has them.")
	}
	return r
}

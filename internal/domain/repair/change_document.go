package repair

import (
	"crypto/ed25519"
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/sequence"
)

// Apart is a Change whose rows stand beside the record of its ends: the ends keep their
// versions, so that nobody's open form goes stale by it.
type Apart interface {
	Change
	Apart()
}

// MakeDocument puts a PDF on record as a document that can be signed. What it was made
// from is compared with the record at that moment: a PDF of anything else is refused.
type MakeDocument struct {
	Of    string `json:"kind"`
	Units string `json:"units"`

	// What the PDF says of itself; the row keeps it.
	Document Document `json:"-"`
	File     RawFile  `json:"-"`
}

// Kind implements Change.
func (MakeDocument) Kind() string { return "document.make" }

// Apart implements Apart.
func (MakeDocument) Apart() {}

// Want implements Wanting.
func (ch MakeDocument) Want() Want {
	return Want{Papers: true, States: ch.Of == PaperProgram, Since: ch.Document.JournalSeq}
}

// Apply implements Change.
func (ch MakeDocument) Apply(s *Scope, c Context) error {
	d := ch.Document
	lacks, err := s.PaperLacks(ch.Of)
	if err != nil {
		return err
	}
	if len(lacks) > 0 {
		return fault.New(fault.Refused, "the document cannot be made yet: %s", strings.Join(lacks, "; "))
	}
	if d.SHA256 == "" || d.SHA256 != ch.File.SHA256 || d.Size <= 0 {
		return fault.New(fault.Malformed, "the document has no file")
	}
	now, err := s.PaperDigest(ch.Of)
	if err != nil {
		return err
	}
	if now != d.Record || ch.Of != PaperProgram && s.EntriesSince > 0 {
		return fault.New(fault.Conflict, "the record changed while the document was being printed; nothing was stored: make it again")
	}
	d.ID, d.ProgramID, d.Kind, d.Units, d.Number = c.NewID(), s.Program.ID, ch.Of, ch.Units, s.NextDocument
	d.EndID = nil
	if ch.Of != PaperProgram {
		id := s.Ends[0].End.ID
		d.EndID = &id
	}
	d.MadeBy, d.MadeByName, d.MadeByRole, d.MadeAt = c.Actor.ID, c.Actor.Name, string(c.Actor.Role), c.Now
	s.Documents = append(s.Documents, d)
	s.RawFiles = append(s.RawFiles, ch.File)
	return nil
}

// A meaning is what a signature may say, of which documents and by whom.
type meaning struct {
	key, words, sentence string
	kinds                []string
	roles                []authz.Role
}

var allPapers = []string{PaperCalculation, PaperAsBuilt, PaperProgram}

// meanings are in the order in which they are given. Who may say which follows common
// practice, no source: the designer or the inspector prepares, another engineer checks,
// the owner's engineer approves, whoever saw the work signs as built.
var meanings = []meaning{
	{SignedPrepared, "prepared", "I prepared this document, or had it prepared under my direction, and it says what I know to be so.", allPapers, []authz.Role{authz.Engineer, authz.Designer, authz.Inspector, authz.Contractor}},
	{SignedChecked, "checked", "I checked this document against what it stands on, independently of who prepared it.", allPapers, []authz.Role{authz.Engineer, authz.Designer}},
	{SignedApproved, "approved", "I approve this document for the use that it names.", allPapers, []authz.Role{authz.Engineer}},
	{SignedAsBuilt, "as built", "The work at this end was done as this document says.", []string{PaperAsBuilt}, []authz.Role{authz.Engineer, authz.Inspector, authz.Contractor}},
}

// Meanings lists what a person of a role may say of a document of a kind.
func Meanings(kind string, role authz.Role) []string {
	var out []string
	for _, m := range meanings {
		if slices.Contains(m.kinds, kind) && slices.Contains(m.roles, role) {
			out = append(out, m.key)
		}
	}
	return out
}

// MeaningWords is a meaning in a word, and MeaningSentence the sentence that it signs.
func MeaningWords(key string) string {
	for _, m := range meanings {
		if m.key == key {
			return m.words
		}
	}
	return key
}

// MeaningSentence is the sentence that a meaning signs.
func MeaningSentence(key string) string {
	for _, m := range meanings {
		if m.key == key {
			return m.sentence
		}
	}
	return ""
}

// Statement is the text that stands for one person's signature: what was signed, what is
// said of it, by whom and when. It is a line a fact, ends with a line feed and is signed
// as these very bytes.
func Statement(d Document, programCode, meaning string, by Actor, at time.Time, keyID string) string {
	line := func(s string) string {
		return strings.Map(func(r rune) rune {
			if r < ' ' || r == 0x7f || r == 0x2028 || r == 0x2029 {
				return ' '
			}
			return r
		}, s)
	}
	return fmt.Sprintf(`signature statement, form 1
program: %s
document: %d
title: %s
sha256: %s
bytes: %d
made from: record %s, method %s, journal entry %d %s
meaning: %s
sentence: %s
name: %s
role: %s
account: %s
at: %s
server key: %s
`, line(programCode), d.Number, line(d.Title), d.SHA256, d.Size, d.Record, line(d.MethodVersion), d.JournalSeq, d.JournalHash,
		MeaningWords(meaning), MeaningSentence(meaning), line(by.Name), sequence.RoleWords(by.Role), by.ID, at.UTC().Format("2006-01-02T15:04:05.000000Z"), keyID)
}

// SignDocument is a person's signature on the bytes of a document. It is refused once the
// record that the document was made from has moved on.
type SignDocument struct {
	Number  int    `json:"number"`
	SHA256  string `json:"sha256"` // of the document that the person had before them
	Meaning string `json:"meaning"`

	// Made for this signing by the server; the row keeps them.
	KeyID       string            `json:"-"`
	Public      ed25519.PublicKey `json:"-"`
	Text        string            `json:"-"` // the statement
	OfFile      []byte            `json:"-"`
	OfStatement []byte            `json:"-"`
}

// Kind implements Change.
func (SignDocument) Kind() string { return "document.sign" }

// Apart implements Apart.
func (SignDocument) Apart() {}

// Want implements Wanting.
func (ch SignDocument) Want() Want { return Want{Papers: true, Document: ch.Number, States: true} }

// Apply implements Change.
func (ch SignDocument) Apply(s *Scope, c Context) error {
	i := slices.IndexFunc(s.Documents, func(d Document) bool { return d.Number == ch.Number })
	if i < 0 {
		return fault.New(fault.NotFound, "there is no document %d in this program", ch.Number)
	}
	d := s.Documents[i]
	var bad fault.Invalid
	if MeaningSentence(ch.Meaning) == "" {
		bad.Add("meaning", ch.Meaning, "say what you sign it as")
		return bad.Err()
	}
	if !slices.Contains(Meanings(d.Kind, c.Actor.Role), ch.Meaning) {
		return fault.New(fault.Forbidden, "as %s you do not sign this document as %s", sequence.RoleWords(c.Actor.Role), MeaningWords(ch.Meaning))
	}
	if ch.SHA256 != d.SHA256 {
		return fault.New(fault.Conflict, "document %d is another than the one of your page: open it again", d.Number)
	}
	for _, g := range s.Signatures {
		if g.DocumentID == d.ID && g.ByUser == c.Actor.ID {
			return fault.New(fault.Refused, "you signed document %d as %s already: whoever checks or approves it is another person", d.Number, MeaningWords(g.Meaning))
		}
	}
	if err := s.paperStands(d); err != nil {
		return err
	}
	want := Statement(d, s.Program.Code, ch.Meaning, c.Actor, c.Captured, ch.KeyID)
	if ch.Text != want || !ed25519.Verify(ch.Public, []byte(ch.Text), ch.OfStatement) || len(ch.OfFile) != ed25519.SignatureSize {
		return fault.New(fault.Malformed, "the statement is not that of this signature; nothing was signed")
	}
	s.Signatures = append(s.Signatures, Signature{ID: c.NewID(), ProgramID: s.Program.ID, DocumentID: d.ID, Meaning: ch.Meaning, ByUser: c.Actor.ID, ByName: c.Actor.Name,
		ByRole: string(c.Actor.Role), At: c.Captured, Statement: ch.Text, KeyID: ch.KeyID, OfFile: ch.OfFile, OfStatement: ch.OfStatement})
	return nil
}

// paperStands refuses once the record has moved since a document was made.
func (s *Scope) paperStands(d Document) error {
	if (d.EndID == nil) != (len(s.Ends) == 0) || d.EndID != nil && s.Ends[0].End.ID != *d.EndID {
		return fault.New(fault.Malformed, "the entry does not name the end of the document")
	}
	now, err := s.PaperDigest(d.Kind)
	if err != nil {
		return err
	}
	if now != d.Record {
		return fault.New(fault.Conflict, "the record moved on since document %d was made: it is out of date and cannot be signed. Make it again, read it, and sign that one", d.Number)
	}
	if d.Kind != PaperProgram && s.EntriesSince > 0 {
		return fault.New(fault.Conflict, "the journal holds later entries of this end than entry %d, which document %d names. Make it again, read it, and sign that one", d.JournalSeq, d.Number)
	}
	return nil
}

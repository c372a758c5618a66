package repair

import "time"

// Kinds of document.
const (
	PaperCalculation = "calculation" // of one end: survey, design, sheet, reviews, studs
	PaperAsBuilt     = "as_built"    // of one end when it is closed
	PaperProgram     = "program"     // of all ends: an index and a summary of each
)

// PaperKinds are the kinds of document that an end has, in order.
var PaperKinds = []string{PaperCalculation, PaperAsBuilt}

// PaperWords are the kinds of document in words.
func PaperWords(kind string) string {
	switch kind {
	case PaperCalculation:
		return "Calculation package"
	case PaperAsBuilt:
		return "As-built book"
	case PaperProgram:
		return "Program package"
	}
	return kind
}

// Document is a PDF as it was made, with what it was made from. Neither ever changes.
type Document struct {
	ID            string    `db:"id" json:"id"`
	ProgramID     string    `db:"program_id" json:"program_id"`
	EndID         *string   `db:"end_id" json:"end_id"` // nil for a document of the program
	Number        int       `db:"number" json:"number"`
	Kind          string    `db:"kind" json:"kind"`
	Title         string    `db:"title" json:"title"`
	SHA256        string    `db:"sha256" json:"sha256"` // of the PDF, kept as a raw file
	Size          int64     `db:"size_b" json:"size_b"`
	Pages         int       `db:"pages" json:"pages"`
	Record        string    `db:"record_digest" json:"record_digest"` // of the rows that it was made from, see PaperDigest
	MethodVersion string    `db:"method_version" json:"method_version"`
	JournalSeq    int64     `db:"journal_seq" json:"journal_seq"` // last entry of the journal that bears on its record
	JournalHash   string    `db:"journal_hash" json:"journal_hash"`
	Units         string    `db:"units" json:"units"`
	Release       string    `db:"release" json:"release"` // of the program that made it
	MadeBy        string    `db:"made_by" json:"made_by"`
	MadeByName    string    `db:"made_by_name" json:"made_by_name"`
	MadeByRole    string    `db:"made_by_role" json:"made_by_role"`
	MadeAt        time.Time `db:"made_at" json:"made_at"`
}

// What a signature says of a document.
const (
	SignedPrepared = "prepared"
	SignedChecked  = "checked"
	SignedApproved = "approved"
	SignedAsBuilt  = "as_built"
)

// Signature is one person's word on the very bytes of a document, with the server's own
// signature over those bytes and over the statement that names the person.
type Signature struct {
	ID          string    `db:"id" json:"id"`
	ProgramID   string    `db:"program_id" json:"program_id"`
	DocumentID  string    `db:"document_id" json:"document_id"`
	Meaning     string    `db:"meaning" json:"meaning"`
	ByUser      string    `db:"by_user" json:"by_user"`
	ByName      string    `db:"by_name" json:"by_name"`
	ByRole      string    `db:"by_role" json:"by_role"`
	At          time.Time `db:"at" json:"at"`
	Statement   string    `db:"statement" json:"statement"`
	KeyID       string    `db:"key_id" json:"key_id"`
	OfFile      []byte    `db:"of_file" json:"of_file"`           // ed25519 over the bytes of the PDF
	OfStatement []byte    `db:"of_statement" json:"of_statement"` // ed25519 over Statement
}

package logfile

import (
	"bytes"
	"unicode/utf8"
)

// Form is what kind of file some first bytes begin.
type Form string

// Forms of a file.
const (
	Text     Form = "text"
	Gzip     Form = "gzip"
	Zip      Form = "zip"
	Workbook Form = "a workbook: save the sheet as CSV"
	OldBook  Form = "a workbook of the old kind: save the sheet as CSV"
	Picture  Form = "a picture"
	PDF      Form = "a PDF document"
	Binary   Form = "not a text table"
	Empty    Form = "empty"
)

var marks = []struct {
	start string
	form  Form
}{
	{"\x1f\x8b", Gzip},
	{"\xff\xd8\xff", Picture},
	{"\x89PNG\r\n\x1a\n", Picture},
	{"GIF8", Picture},
	{"II*\x00", Picture},
	{"MM\x00*", Picture},
	{"BM", Picture},
	{"%PDF-", PDF},
	{"\xd0\xcf\x11\xe0", OldBook},
	{"\x7fELF", Binary},
	{"MZ\x90", Binary},
	{"SQLite format 3", Binary},
	{"7z\xbc\xaf\x27\x1c", Binary},
	{"Rar!", Binary},
}

// Sniff says what the first bytes of a file begin; a few hundred are enough. A zip
// archive that is a workbook is told by the name of its first parts.
func Sniff(head []byte) Form {
	if len(head) == 0 {
		return Empty
	}
	if bytes.HasPrefix(head, []byte("PK\x03\x04")) || bytes.HasPrefix(head, []byte("PK\x05\x06")) {
		if bytes.Contains(head, []byte("[Content_Types].xml")) || bytes.Contains(head, []byte("_rels/.rels")) {
			return Workbook
		}
		return Zip
	}
	for _, m := range marks {
		if bytes.HasPrefix(head, []byte(m.start)) && !(m.start == "BM" && looksLikeText(head)) {
			return m.form
		}
	}
	if len(head) > 12 && (string(head[4:8]) == "ftyp" || (bytes.HasPrefix(head, []byte("RIFF")) && string(head[8:12]) == "WEBP")) {
		return Picture
	}
	if encodingOf(head) == "" {
		return Binary
	}
	return Text
}

func looksLikeText(head []byte) bool { return encodingOf(head) != "" }

// encodingOf tells the encoding of a text from its mark or its bytes; "" when it is
// no text. Bytes that are not UTF-8 are taken for Latin-1 (with the printable signs
// of Windows code page 1252), the one that loggers of the last decades wrote.
func encodingOf(head []byte) string {
	switch {
	case bytes.HasPrefix(head, []byte("\xef\xbb\xbf")):
		return "utf-8"
	case bytes.HasPrefix(head, []byte("\xff\xfe")):
		return "utf-16le"
	case bytes.HasPrefix(head, []byte("\xfe\xff")):
		return "utf-16be"
	}
	var even, odd, control int
	for i, c := range head {
		switch {
		case c == 0 && i%2 == 0:
			even++
		case c == 0:
			odd++
		case c < ' ' && c != '\t' && c != '\n' && c != '\r' && c != '\f' && c != 0x1a:
			control++
		}
	}
	half := len(head) / 2
	switch {
	case control > 0 && even+odd == 0, control > half/50+1:
		return ""
	case even == 0 && odd > half*4/5 && odd > 0:
		return "utf-16le"
	case odd == 0 && even > half*4/5 && even > 0:
		return "utf-16be"
	case even+odd > 0:
		return ""
	}
	// The head may end within a character.
	for cut := 0; cut < utf8.UTFMax && cut <= len(head); cut++ {
		if utf8.Valid(head[:len(head)-cut]) {
			return "utf-8"
		}
	}
	return "latin-1"
}

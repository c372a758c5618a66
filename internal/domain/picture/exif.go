package picture

import (
	"bytes"
	"encoding/binary"
	"strings"
)

// Tags of Exif 2.32 (CIPA DC-008) that are read; the layout is that of TIFF 6.0.
const (
	tagMake        = 0x010F
	tagModel       = 0x0110
	tagOrientation = 0x0112
	tagExif        = 0x8769
	tagGPS         = 0x8825
	tagTaken       = 0x9003
	tagOffset      = 0x9011
	tagLens        = 0xA434
	tagGPSLatRef   = 0x0001
	tagGPSLon      = 0x0004
)

const mostTags = 512 // of one directory; cameras write some tens

// tiff is the part of a picture's metadata that is laid out as TIFF.
type tiff struct {
	b     []byte
	order binary.ByteOrder
}

// exif reads what is wanted of Exif. Directories are visited by name, never followed
// from one to the next, so nothing can lead in a circle.
func (in *Info) exif(b []byte) {
	t := tiff{b: b}
	switch {
	case bytes.HasPrefix(b, []byte("II*\x00")):
		t.order = binary.LittleEndian
	case bytes.HasPrefix(b, []byte("MM\x00*")):
		t.order = binary.BigEndian
	default:
		in.Unread = true
		return
	}
	if len(b) < 8 {
		in.Unread = true
		return
	}
	var maker, model, lens, taken, offset string
	sub, gps := uint32(0), uint32(0)
	ok := t.each(t.order.Uint32(b[4:]), func(e field) {
		switch e.tag {
		case tagMake:
			maker = t.text(e)
		case tagModel:
			model = t.text(e)
		case tagOrientation:
			if v := e.short(t.order); e.kind == 3 && v >= 1 && v <= 8 {
				in.Orientation = int(v)
			}
		case tagExif:
			sub = t.order.Uint32(e.value)
		case tagGPS:
			gps = t.order.Uint32(e.value)
		}
	})
	if sub != 0 {
		ok = t.each(sub, func(e field) {
			switch e.tag {
			case tagTaken:
				taken = t.text(e)
			case tagOffset:
				offset = t.text(e)
			case tagLens:
				lens = t.text(e)
			}
		}) && ok
	}
	if gps != 0 {
		ok = t.each(gps, func(e field) {
			if e.tag >= tagGPSLatRef && e.tag <= tagGPSLon {
				in.Position = true
			}
		}) && ok
	}
	in.Unread = in.Unread || !ok
	in.Taken = strings.TrimSpace(takenWords(taken) + " " + offset)
	if model != "" && maker != "" && !strings.HasPrefix(strings.ToLower(model), strings.ToLower(maker)) {
		model = maker + " " + model
	}
	in.Camera = strings.Trim(strings.Join([]string{model, lens}, ", "), ", ")
}

// takenWords turns "2026:04:30 21:15:04" into a date as people write it; what is laid
// out otherwise says nothing.
func takenWords(s string) string {
	if len(s) != 19 || s[4] != ':' || s[7] != ':' || s[10] != ' ' || s[13] != ':' || s[16] != ':' || strings.Trim(s, "0123456789: ") != "" {
		return ""
	}
	return s[:4] + "-" + s[5:7] + "-" + s[8:]
}

// field is one entry of a directory.
type field struct {
	tag, kind uint16
	count     uint32
	value     []byte // the four bytes of the value or of its offset
}

func (f field) short(o binary.ByteOrder) uint16 { return o.Uint16(f.value) }

// each calls f for the entries of the directory at an offset, and reports whether
// the directory is whole.
func (t tiff) each(at uint32, f func(field)) bool {
	if int64(at)+2 > int64(len(t.b)) {
		return false
	}
	n := int(t.order.Uint16(t.b[at:]))
	whole := n <= mostTags
	p := int(at) + 2
	for range min(n, mostTags) {
		if p+12 > len(t.b) {
			return false
		}
		f(field{t.order.Uint16(t.b[p:]), t.order.Uint16(t.b[p+2:]), t.order.Uint32(t.b[p+4:]), t.b[p+8 : p+12]})
		p += 12
	}
	return whole
}

const mostText = 80 // bytes of a text that are shown

// text reads a text of ASCII, cut at its first zero and without what is no letter.
func (t tiff) text(e field) string {
	if e.kind != 2 || e.count == 0 {
		return ""
	}
	n := min(e.count, mostText)
	b := e.value[:min(n, 4)]
	if e.count > 4 {
		at := int64(t.order.Uint32(e.value))
		if at+int64(n) > int64(len(t.b)) {
			return ""
		}
		b = t.b[at : at+int64(n)]
	}
	b, _, _ = bytes.Cut(b, []byte{0})
	out := strings.Map(func(r rune) rune {
		if r < 0x20 || r > 0x7E {
			return -1
		}
		return r
	}, string(b))
	return strings.TrimSpace(out)
}

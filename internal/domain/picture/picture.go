// Package picture looks at the bytes of a photograph before anything else does: what
// kind it is by its content, how large it is, how it is turned, and what its metadata
// say. It makes small copies to show in lists, and copies without metadata.
//
// Nothing here trusts a length, an offset or a size that stands in a file: each is
// held against the bytes that are there, and no pixel is decoded before the size that
// the file claims was found bearable.
package picture

import (
	"bytes"
	"encoding/binary"
	"net/http"

	"endcast/internal/domain/fault"
)

// Kinds of pictures that are taken, as media types.
const (
	JPEG = "image/jpeg"
	PNG  = "image/png"
	WebP = "image/webp"
)

// MostPixels is the largest picture that is taken. Cameras of tablets have 12 to 50
// megapixels; more than 100 is a mistake or an attack on the memory of whoever opens it.
const MostPixels = 100_000_000

// Info is what a picture says of itself.
type Info struct {
	Kind          string
	Width, Height int // in pixels, as it is shown
	Orientation   int // 1 to 8 as in Exif; 1 where it says none
	Taken         string
	Camera        string // make, model and lens in words
	// Position is set where the metadata hold a place on earth, and Unread where they
	// hold something that could not be read, so that a place cannot be ruled out.
	Position, Unread bool
	costly           int64 // bytes of memory that decoding takes at most
}

// Inspect reads the head of a picture. It refuses what is none of the kinds by its
// content, what claims more than MostPixels, and what does not say its size.
func Inspect(b []byte) (Info, error) {
	kind := http.DetectContentType(b)
	in := Info{Kind: kind, Orientation: 1}
	var err error
	switch kind {
	case JPEG:
		err = in.jpeg(b)
	case PNG:
		err = in.png(b)
	case WebP:
		err = in.webp(b)
	default:
		return in, fault.New(fault.Refused, "must be a JPEG, PNG or WebP picture; its content is %s", kind)
	}
	if err != nil {
		return in, err
	}
	if in.Width < 1 || in.Height < 1 {
		return in, fault.New(fault.Refused, "the picture does not say how large it is: it is damaged, or only a part of one")
	}
	if n := int64(in.Width) * int64(in.Height); n > MostPixels {
		return in, fault.New(fault.Refused, "a picture has at most %d megapixels here, this one claims %.1f (%d by %d)", MostPixels/1_000_000, float64(n)/1e6, in.Width, in.Height)
	}
	if in.Orientation >= 5 {
		in.Width, in.Height = in.Height, in.Width
	}
	return in, nil
}

// segment is one marker of a JPEG with what follows it.
type segment struct {
	marker     byte
	start, end int // of the whole segment, marker included
	body       []byte
}

// segments calls f for the segments of a JPEG up to the end of the image, with the
// coded data of a scan as part of its segment. It reports whether the image ended.
func segments(b []byte, f func(segment) bool) (ended bool) {
	if len(b) < 2 || b[0] != 0xFF || b[1] != 0xD8 {
		return false
	}
	for at := 2; at+1 < len(b); {
		if b[at] != 0xFF {
			return false
		}
		start := at
		for at+1 < len(b) && b[at+1] == 0xFF { // fill bytes
			at++
		}
		if at+1 >= len(b) {
			return false
		}
		m := b[at+1]
		at += 2
		switch {
		case m == 0xD9:
			f(segment{m, start, at, nil})
			return true
		case m == 0x01 || (m >= 0xD0 && m <= 0xD7):
			continue
		}
		if at+2 > len(b) {
			return false
		}
		n := int(binary.BigEndian.Uint16(b[at:]))
		if n < 2 || at+n > len(b) {
			return false
		}
		body := b[at+2 : at+n]
		at += n
		if m == 0xDA {
			at = scanEnd(b, at)
		}
		if !f(segment{m, start, at, body}) {
			return false
		}
	}
	return false
}

// scanEnd is where the coded data of a scan end: at the next marker that is no
// restart and no stuffed byte.
func scanEnd(b []byte, at int) int {
	for {
		i := bytes.IndexByte(b[at:], 0xFF)
		if i < 0 || at+i+1 >= len(b) {
			return len(b)
		}
		at += i
		if m := b[at+1]; m != 0 && m != 0xFF && (m < 0xD0 || m > 0xD7) {
			return at
		}
		at++
		if b[at] != 0xFF {
			at++
		}
	}
}

var exifHead, xmpHead = []byte("Exif\x00\x00"), []byte("http://ns.adobe.com/")

func (in *Info) jpeg(b []byte) error {
	progressive, parts := false, 0
	segments(b, func(s segment) bool {
		switch {
		case s.marker >= 0xC0 && s.marker <= 0xCF && s.marker != 0xC4 && s.marker != 0xC8 && s.marker != 0xCC:
			if len(s.body) >= 6 && in.Width == 0 {
				in.Height, in.Width = int(binary.BigEndian.Uint16(s.body[1:])), int(binary.BigEndian.Uint16(s.body[3:]))
				progressive, parts = s.marker == 0xC2, int(s.body[5])
			}
		case s.marker == 0xE1 && bytes.HasPrefix(s.body, exifHead):
			in.exif(s.body[len(exifHead):])
		case s.marker == 0xE1 && bytes.HasPrefix(s.body, xmpHead):
			in.xmp(s.body)
		case s.marker == 0xE1, s.marker == 0xED, s.marker == 0xFE:
			in.Position = in.Position || namesPlace(s.body)
		}
		return s.marker != 0xDA
	})
	per := int64(max(parts, 3))
	if progressive {
		per += 4 * per // coefficients are kept for every scan
	}
	in.costly = per * int64(in.Width) * int64(in.Height)
	return nil
}

var pngHead = []byte("\x89PNG\r\n\x1a\n")

// chunks calls f for the chunks of a PNG with the whole chunk and its data.
func chunks(b []byte, f func(kind string, whole, data []byte) bool) {
	if !bytes.HasPrefix(b, pngHead) {
		return
	}
	for at := len(pngHead); at+12 <= len(b); {
		n := int64(binary.BigEndian.Uint32(b[at:]))
		if n > int64(len(b)-at-12) {
			return
		}
		end := at + 12 + int(n)
		if !f(string(b[at+4:at+8]), b[at:end], b[at+8:end-4]) {
			return
		}
		at = end
	}
}

func (in *Info) png(b []byte) error {
	chunks(b, func(kind string, _, data []byte) bool {
		switch kind {
		case "IHDR":
			if len(data) >= 13 && in.Width == 0 {
				w, h := binary.BigEndian.Uint32(data), binary.BigEndian.Uint32(data[4:])
				if w <= 1<<31-1 && h <= 1<<31-1 {
					in.Width, in.Height = int(w), int(h)
				}
				per := int64(4)
				if data[8] == 16 {
					per = 8
				}
				in.costly = 2 * per * int64(in.Width) * int64(in.Height)
			}
		case "eXIf":
			in.exif(data)
		case "tEXt", "iTXt", "zTXt":
			in.pngText(kind, data)
		}
		return kind != "IEND"
	})
	return nil
}

// pngText looks at a text of a PNG. A packed one that by its name holds metadata is
// not unpacked.
func (in *Info) pngText(kind string, data []byte) {
	name, text, _ := bytes.Cut(data, []byte{0})
	packed := kind == "zTXt" || (kind == "iTXt" && len(text) > 0 && text[0] == 1)
	switch {
	case bytes.HasPrefix(name, []byte("Raw profile")) || (packed && bytes.HasPrefix(name, []byte("XML:"))):
		in.Unread = true
	case bytes.HasPrefix(name, []byte("XML:")):
		in.xmp(text)
	default:
		in.Position = in.Position || namesPlace(data)
	}
}

// riff calls f for the chunks of a WebP.
func riff(b []byte, f func(kind string, whole, data []byte)) {
	if len(b) < 12 || string(b[:4]) != "RIFF" || string(b[8:12]) != "WEBP" {
		return
	}
	for at := 12; at+8 <= len(b); {
		n := int64(binary.LittleEndian.Uint32(b[at+4:]))
		if n > int64(len(b)-at-8) {
			return
		}
		end := at + 8 + int(n)
		whole := min(end+int(n&1), len(b))
		f(string(b[at:at+4]), b[at:whole], b[at+8:end])
		at = whole
	}
}

func (in *Info) webp(b []byte) error {
	riff(b, func(kind string, _, d []byte) {
		switch {
		case kind == "VP8X" && len(d) >= 10 && in.Width == 0:
			in.Width, in.Height = 1+(int(d[4])|int(d[5])<<8|int(d[6])<<16), 1+(int(d[7])|int(d[8])<<8|int(d[9])<<16)
		case kind == "VP8 " && len(d) >= 10 && d[3] == 0x9D && d[4] == 0x01 && d[5] == 0x2A:
			in.grow(int(binary.LittleEndian.Uint16(d[6:])&0x3FFF), int(binary.LittleEndian.Uint16(d[8:])&0x3FFF))
		case kind == "VP8L" && len(d) >= 5 && d[0] == 0x2F:
			v := binary.LittleEndian.Uint32(d[1:])
			in.grow(int(v&0x3FFF)+1, int(v>>14&0x3FFF)+1)
		case kind == "EXIF":
			in.exif(bytes.TrimPrefix(d, exifHead))
		case kind == "XMP ":
			in.xmp(d)
		}
	})
	in.costly = 12 * int64(in.Width) * int64(in.Height)
	return nil
}

// grow takes the larger of two sizes that one file claims.
func (in *Info) grow(w, h int) { in.Width, in.Height = max(in.Width, w), max(in.Height, h) }

// xmp looks for a place in metadata that are text.
func (in *Info) xmp(b []byte) { in.Position = in.Position || namesPlace(b) }

func namesPlace(b []byte) bool {
	low := bytes.ToLower(b)
	return bytes.Contains(low, []byte("gpslatitude")) || bytes.Contains(low, []byte("gpslongitude"))
}

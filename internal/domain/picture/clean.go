package picture

import (
	"bytes"
	"encoding/binary"

	"endcast/internal/domain/fault"
)

// Clean returns a copy of a picture without metadata: no place, no name, no serial
// number, no second picture behind the end of the first. The image itself stays as it
// is, bit for bit; how it is turned and its colors stay with it.
func Clean(b []byte, in Info) ([]byte, error) {
	switch in.Kind {
	case JPEG:
		return cleanJPEG(b, in.Orientation)
	case PNG:
		return cleanPNG(b, in.Orientation)
	case WebP:
		return cleanWebP(b, in.Orientation)
	}
	return nil, fault.New(fault.Refused, "no copy without metadata can be made of %s", in.Kind)
}

// turned is Exif that says nothing but how a picture is turned.
func turned(orientation int) []byte {
	return []byte{'M', 'M', 0, '*', 0, 0, 0, 8, 0, 1, 0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, byte(orientation), 0, 0, 0, 0, 0, 0}
}

func cleanJPEG(b []byte, orientation int) ([]byte, error) {
	out := make([]byte, 0, len(b))
	out = append(out, 0xFF, 0xD8)
	if orientation != 1 {
		body := append(bytes.Clone(exifHead), turned(orientation)...)
		out = append(out, 0xFF, 0xE1)
		out = binary.BigEndian.AppendUint16(out, uint16(len(body)+2))
		out = append(out, body...)
	}
	scans := 0
	ended := segments(b, func(s segment) bool {
		keep := s.marker < 0xE0 || s.marker > 0xEF && s.marker != 0xFE
		switch {
		case s.marker == 0xE0 && bytes.HasPrefix(s.body, []byte("JFIF\x00")), s.marker == 0xEE && bytes.HasPrefix(s.body, []byte("Adobe")),
			s.marker == 0xE2 && bytes.HasPrefix(s.body, []byte("ICC_PROFILE\x00")):
			keep = true
		case s.marker == 0xDA:
			scans++
		}
		if keep {
			out = append(out, b[s.start:s.end]...)
		}
		return true
	})
	if !ended && scans == 0 {
		return nil, fault.New(fault.Refused, "no copy without metadata can be made: the picture is damaged")
	}
	return out, nil
}

func cleanPNG(b []byte, orientation int) ([]byte, error) {
	out := append(make([]byte, 0, len(b)), pngHead...)
	ended := false
	chunks(b, func(kind string, whole, _ []byte) bool {
		switch kind {
		case "IHDR", "PLTE", "IDAT", "IEND", "tRNS", "cHRM", "gAMA", "iCCP", "sBIT", "sRGB", "cICP", "bKGD", "pHYs":
			out = append(out, whole...)
		}
		if kind == "IHDR" && orientation != 1 {
			out = appendChunk(out, "eXIf", turned(orientation))
		}
		ended = kind == "IEND"
		return !ended
	})
	if !ended {
		return nil, fault.New(fault.Refused, "no copy without metadata can be made: the picture is damaged")
	}
	return out, nil
}

func cleanWebP(b []byte, orientation int) ([]byte, error) {
	out := append(make([]byte, 0, len(b)), "RIFF\x00\x00\x00\x00WEBP"...)
	image, flags := false, -1
	riff(b, func(kind string, whole, _ []byte) {
		switch kind {
		case "VP8X":
			flags = len(out) + 8
			out = append(out, whole...)
		case "VP8 ", "VP8L", "ALPH", "ANIM", "ANMF", "ICCP":
			image = image || kind != "ICCP"
			out = append(out, whole...)
		}
	})
	if !image {
		return nil, fault.New(fault.Refused, "no copy without metadata can be made: the picture is damaged")
	}
	if flags > 0 && flags < len(out) {
		out[flags] &^= 0x08 | 0x04 // neither Exif nor XMP follows
		if orientation != 1 {
			out[flags] |= 0x08
			t := turned(orientation)
			out = append(out, "EXIF"...)
			out = binary.LittleEndian.AppendUint32(out, uint32(len(t)))
			out = append(out, t...)
		}
	}
	binary.LittleEndian.PutUint32(out[4:], uint32(len(out)-8))
	return out, nil
}

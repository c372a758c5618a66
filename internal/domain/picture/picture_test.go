package picture_test

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/picture"
)

// exifOf lays Exif out as TIFF 6.0 does, little end first: make, model, orientation,
// the time with its offset, and a place where one is asked for.
func exifOf(orientation int, place bool) []byte {
	le := binary.LittleEndian
	var data []byte
	dir := func(at uint32, entries [][4]any) []byte {
		out := le.AppendUint16(nil, uint16(len(entries)))
		end := at + 2 + uint32(len(entries))*12 + 4
		var tail []byte
		for _, e := range entries {
			out = le.AppendUint16(out, uint16(e[0].(int)))
			out = le.AppendUint16(out, uint16(e[1].(int)))
			if s, ok := e[2].(string); ok {
				out = le.AppendUint32(out, uint32(len(s)+1))
				out = le.AppendUint32(out, end+uint32(len(tail)))
				tail = append(append(tail, s...), 0)
				continue
			}
			out = le.AppendUint32(out, 1)
			out = le.AppendUint32(out, uint32(e[2].(int)))
		}
		return append(append(out, 0, 0, 0, 0), tail...)
	}
	data = append(data, "II*\x00\x08\x00\x00\x00"...)
	const sub, gps = 400, 700
	main := [][4]any{{0x010F, 2, "Maker of tablets"}, {0x0110, 2, "Tablet Seven"}, {0x0112, 3, orientation}, {0x8769, 4, sub}}
	if place {
		main = append(main, [4]any{0x8825, 4, gps})
	}
	data = append(data, dir(8, main)...)
	data = append(data, make([]byte, sub-len(data))...)
	data = append(data, dir(sub, [][4]any{{0x9003, 2, "2026:04:30 21:15:04"}, {0x9011, 2, "-04:00"}})...)
	if place {
		data = append(data, make([]byte, gps-len(data))...)
		data = append(data, dir(gps, [][4]any{{1, 2, "North, in words"}, {2, 5, 8}})...)
	}
	return data
}

// half is an image whose left half is dark: how it is turned can be seen.
func half(w, h int) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			v := uint8(255)
			if x < w/2 {
				v = 0
			}
			img.SetRGBA(x, y, color.RGBA{v, v, v, 255})
		}
	}
	return img
}

func jpegOf(t testing.TB, exif []byte) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, half(640, 320), nil))
	if exif == nil {
		return b.Bytes()
	}
	body := append([]byte("Exif\x00\x00"), exif...)
	head := binary.BigEndian.AppendUint16([]byte{0xFF, 0xD8, 0xFF, 0xE1}, uint16(len(body)+2))
	return append(append(head, body...), b.Bytes()[2:]...)
}

func chunk(kind string, data []byte) []byte {
	out := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	out = append(append(out, kind...), data...)
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(out[4:]))
}

func pngOf(t testing.TB, extra ...[]byte) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, half(64, 32)))
	all := b.Bytes()
	const head = 8 + 25
	out := append([]byte{}, all[:head]...)
	for _, x := range extra {
		out = append(out, x...)
	}
	return append(out, all[head:]...)
}

// A WebP of one dot, of the smallest lossless kind, inside the container that may
// carry metadata.
func webpOf(meta ...[]byte) []byte {
	vp8l := []byte{0x2F, 0, 0, 0, 0, 0x07, 0x50, 0x83, 0x45, 0xB3, 0xFA}
	part := func(kind string, d []byte) []byte {
		out := append([]byte(kind), 0, 0, 0, 0)
		binary.LittleEndian.PutUint32(out[4:], uint32(len(d)))
		out = append(out, d...)
		if len(d)%2 == 1 {
			out = append(out, 0)
		}
		return out
	}
	body := append([]byte("WEBP"), part("VP8X", []byte{0x0C, 0, 0, 0, 0, 0, 0, 0, 0, 0})...)
	body = append(body, part("VP8L", vp8l)...)
	for i, m := range meta {
		body = append(body, part([]string{"EXIF", "XMP "}[i], m)...)
	}
	out := append([]byte("RIFF"), 0, 0, 0, 0)
	binary.LittleEndian.PutUint32(out[4:], uint32(len(body)))
	return append(out, body...)
}

func TestInspect(t *testing.T) {
	t.Parallel()
	in, err := picture.Inspect(jpegOf(t, exifOf(6, true)))
	require.NoError(t, err)
	require.Equal(t, []any{picture.JPEG, 320, 640, 6, true, false}, []any{in.Kind, in.Width, in.Height, in.Orientation, in.Position, in.Unread}, "turned by a quarter, so upright")
	require.Equal(t, "2026-04-30 21:15:04 -04:00", in.Taken)
	require.Equal(t, "Maker of tablets Tablet Seven", in.Camera)

	for name, c := range map[string]struct {
		data             []byte
		position, unread bool
	}{
		"bare":                    {jpegOf(t, nil), false, false},
		"no place":                {jpegOf(t, exifOf(1, false)), false, false},
		"damaged metadata":        {jpegOf(t, []byte("XX*\x00 and more")), false, true},
		"cut metadata":            {jpegOf(t, exifOf(1, true)[:60]), false, true},
		"png, bare":               {pngOf(t), false, false},
		"png, place":              {pngOf(t, chunk("eXIf", exifOf(1, true))), true, false},
		"png, text with a place":  {pngOf(t, chunk("iTXt", []byte("XML:com.adobe.xmp\x00\x00\x00\x00\x00<x exif:GPSLatitude='1'/>"))), true, false},
		"png, packed metadata":    {pngOf(t, chunk("zTXt", []byte("Raw profile type exif\x00\x00xxxx"))), false, true},
		"webp, place in Exif":     {webpOf(exifOf(1, true)), true, false},
		"webp, place in its text": {webpOf(exifOf(1, false), []byte("<x exif:GPSLongitude='1'/>")), true, false},
	} {
		in, err := picture.Inspect(c.data)
		require.NoError(t, err, name)
		require.Equal(t, [2]bool{c.position, c.unread}, [2]bool{in.Position, in.Unread}, name)
	}
}

func TestWhatIsNoPictureIsRefused(t *testing.T) {
	t.Parallel()
	for name, c := range map[string][2]string{
		"text":           {"Dear reader, this is no picture.", "its content is text/plain"},
		"page":           {"<html><script>alert(1)</script>", "its content is text/html"},
		"nothing":        {"", "JPEG, PNG or WebP"},
		"head of a JPEG": {"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + strings.Repeat("\x00", 200), "does not say how large"},
		"head of a PNG":  {"\x89PNG\r\n\x1a\n\x00\x00", "does not say how large"},
	} {
		_, err := picture.Inspect([]byte(c[0]))
		require.ErrorContains(t, err, c[1], name)
	}
}

// A small file that claims 2.5 thousand million pixels is refused by its head, and
// nothing near its size is ever held in memory.
func TestPixelBombIsRefusedUnopened(t *testing.T) {
	t.Parallel()
	head := binary.BigEndian.AppendUint32(nil, 50000)
	head = binary.BigEndian.AppendUint32(head, 50000)
	bomb := append([]byte("\x89PNG\r\n\x1a\n"), chunk("IHDR", append(head, 8, 6, 0, 0, 0))...)
	bomb = append(append(bomb, chunk("IDAT", make([]byte, 1000))...), chunk("IEND", nil)...)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	_, err := picture.Inspect(bomb)
	runtime.ReadMemStats(&after)
	require.ErrorContains(t, err, "at most 100 megapixels here, this one claims 2500.0 (50000 by 50000)")
	require.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(64<<20))

	// One that is large but taken has no small copy where decoding would take too much.
	head = binary.BigEndian.AppendUint32(nil, 10000)
	head = binary.BigEndian.AppendUint32(head, 9000)
	big := append([]byte("\x89PNG\r\n\x1a\n"), chunk("IHDR", append(head, 16, 6, 0, 0, 0))...)
	in, err := picture.Inspect(big)
	require.NoError(t, err)
	_, _, _, err = picture.Thumb(big, in)
	require.ErrorContains(t, err, "too many for a small copy")
}

// Where the dark half of the image lies once each orientation of Exif 2.32 (tag
// 0x0112) is honoured.
func TestThumbIsTurnedAsShown(t *testing.T) {
	t.Parallel()
	for orientation, dark := range map[int]string{1: "left", 2: "right", 3: "right", 4: "left", 5: "top", 6: "top", 7: "bottom", 8: "bottom"} {
		data := jpegOf(t, exifOf(orientation, true))
		in, err := picture.Inspect(data)
		require.NoError(t, err)
		small, w, h, err := picture.Thumb(data, in)
		require.NoError(t, err)
		img, err := jpeg.Decode(bytes.NewReader(small))
		require.NoError(t, err)
		require.Equal(t, image.Pt(w, h), img.Bounds().Size())
		require.Equal(t, in.Width > in.Height, w > h, orientation)
		require.Equal(t, picture.ThumbSide, max(w, h))
		at := map[string]image.Point{"left": {w / 8, h / 2}, "right": {w - w/8, h / 2}, "top": {w / 2, h / 8}, "bottom": {w / 2, h - h/8}}
		for side, p := range at {
			r, _, _, _ := img.At(p.X, p.Y).RGBA()
			opposite := map[string]string{"left": "right", "right": "left", "top": "bottom", "bottom": "top"}[side]
			if side == dark {
				require.Less(t, r, uint32(0x4000), "orientation %d, %s", orientation, side)
			} else if opposite == dark {
				require.Greater(t, r, uint32(0xC000), "orientation %d, %s", orientation, side)
			}
		}
		again, err := picture.Inspect(small)
		require.NoError(t, err)
		require.False(t, again.Position || again.Unread)
	}
}

// A copy without metadata decodes to the very pixels of the original, is turned like
// it, and says no place any more.
func TestCleanKeepsEveryPixel(t *testing.T) {
	t.Parallel()
	withTail := append(jpegOf(t, exifOf(8, true)), jpegOf(t, exifOf(1, true))...) // a second picture behind the first
	for name, data := range map[string][]byte{"jpeg": withTail, "png": pngOf(t, chunk("eXIf", exifOf(3, true)), chunk("tEXt", []byte("Author\x00A Name"))), "webp": webpOf(exifOf(6, true), []byte("<x GPSLatitude='1'/>"))} {
		in, err := picture.Inspect(data)
		require.NoError(t, err, name)
		require.True(t, in.Position, name)
		out, err := picture.Clean(data, in)
		require.NoError(t, err, name)
		got, err := picture.Inspect(out)
		require.NoError(t, err, name)
		require.Equal(t, []any{false, false, in.Orientation, in.Width, in.Height, "", ""}, []any{got.Position, got.Unread, got.Orientation, got.Width, got.Height, got.Camera, got.Taken}, name)
		for _, word := range []string{"Tablet Seven", "North, in words", "A Name", "GPSLatitude"} {
			require.NotContains(t, string(out), word, name)
		}
		if name == "webp" {
			continue
		}
		was, _, err := image.Decode(bytes.NewReader(data))
		require.NoError(t, err)
		is, _, err := image.Decode(bytes.NewReader(out))
		require.NoError(t, err)
		require.Equal(t, was, is, name)
	}
	broken := jpegOf(t, exifOf(1, true))
	_, err := picture.Clean(broken[:900], picture.Info{Kind: picture.JPEG, Orientation: 1})
	require.ErrorContains(t, err, "damaged")
}

// Whatever comes, looking at it neither fails nor takes much memory, and a copy
// without metadata says no place.
func FuzzInspect(f *testing.F) {
	for _, b := range [][]byte{jpegOf(f, exifOf(6, true)), pngOf(f, chunk("eXIf", exifOf(1, true))), webpOf(exifOf(1, true), []byte("x")), []byte("RIFF\x00\x00\x00\x00WEBPVP8X"), {0xFF, 0xD8, 0xFF, 0xFF}} {
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		in, err := picture.Inspect(b)
		if err != nil {
			return
		}
		require.True(t, in.Width > 0 && in.Height > 0 && in.Width*in.Height <= picture.MostPixels)
		require.True(t, in.Orientation >= 1 && in.Orientation <= 8)
		out, err := picture.Clean(b, in)
		if err != nil {
			return
		}
		got, err := picture.Inspect(out)
		require.NoError(t, err)
		require.False(t, got.Position || got.Unread)
		require.Empty(t, got.Camera)
		if in.Width*in.Height < 1<<16 {
			if small, w, h, err := picture.Thumb(b, in); err == nil {
				require.NotEmpty(t, small)
				require.LessOrEqual(t, max(w, h), picture.ThumbSide)
			}
		}
	})
}

// BenchmarkThumb is the small copy of a picture of 12 megapixels.
func BenchmarkThumb(b *testing.B) {
	var buf bytes.Buffer
	require.NoError(b, jpeg.Encode(&buf, half(4000, 3000), nil))
	in, err := picture.Inspect(buf.Bytes())
	require.NoError(b, err)
	for b.Loop() {
		_, _, _, err = picture.Thumb(buf.Bytes(), in)
		require.NoError(b, err)
	}
}

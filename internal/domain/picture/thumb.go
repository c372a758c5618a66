package picture

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"

	"golang.org/x/image/draw"
	"golang.org/x/image/webp"

	"endcast/internal/domain/fault"
)

// ThumbSide is the longer side of a small copy in pixels.
const ThumbSide = 480

// mostMemory is what decoding one picture may take. What would take more is kept and
// served all the same; it only has no small copy.
const mostMemory = 512 << 20

// Thumb makes a small JPEG of a picture, turned as it is shown and without metadata.
// It refuses what cannot be decoded and what would take too much memory.
func Thumb(b []byte, in Info) (data []byte, width, height int, err error) {
	if in.costly > mostMemory {
		return nil, 0, 0, fault.New(fault.Refused, "its %d by %d pixels are too many for a small copy", in.Width, in.Height)
	}
	var img image.Image
	switch in.Kind {
	case JPEG:
		img, err = jpeg.Decode(bytes.NewReader(b))
	case PNG:
		img, err = png.Decode(bytes.NewReader(b))
	case WebP:
		img, err = webp.Decode(bytes.NewReader(b))
	default:
		return nil, 0, 0, fault.New(fault.Refused, "no small copy can be made of %s", in.Kind)
	}
	if err != nil {
		return nil, 0, 0, fault.Wrap(fault.Refused, err, "the picture cannot be decoded")
	}
	from := img.Bounds()
	w, h := from.Dx(), from.Dy()
	if w < 1 || h < 1 {
		return nil, 0, 0, fault.New(fault.Refused, "the picture is empty")
	}
	if side := max(w, h); side > ThumbSide {
		w, h = max(1, w*ThumbSide/side), max(1, h*ThumbSide/side)
	}
	small := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(small, small.Bounds(), image.NewUniform(color.White), image.Point{}, draw.Src) // JPEG has no holes
	draw.BiLinear.Scale(small, small.Bounds(), img, from, draw.Over, nil)
	small = turn(small, in.Orientation)
	var out bytes.Buffer
	if err := jpeg.Encode(&out, small, &jpeg.Options{Quality: 82}); err != nil {
		return nil, 0, 0, fault.Wrap(fault.Refused, err, "no small copy could be made")
	}
	return out.Bytes(), small.Rect.Dx(), small.Rect.Dy(), nil
}

// turn shows an image as its orientation says (Exif 2.32, tag 0x0112).
func turn(in *image.RGBA, orientation int) *image.RGBA {
	if orientation < 2 || orientation > 8 {
		return in
	}
	w, h := in.Rect.Dx(), in.Rect.Dy()
	size := image.Rect(0, 0, w, h)
	if orientation >= 5 {
		size = image.Rect(0, 0, h, w)
	}
	out := image.NewRGBA(size)
	for y := range h {
		for x := range w {
			tx, ty := x, y
			switch orientation {
			case 2:
				tx = w - 1 - x
			case 3:
				tx, ty = w-1-x, h-1-y
			case 4:
				ty = h - 1 - y
			case 5:
				tx, ty = y, x
			case 6:
				tx, ty = h-1-y, x
			case 7:
				tx, ty = h-1-y, w-1-x
			case 8:
				tx, ty = y, w-1-x
			}
			out.SetRGBA(tx, ty, in.RGBAAt(x, y))
		}
	}
	return out
}

func appendChunk(out []byte, kind string, data []byte) []byte {
	out = binary.BigEndian.AppendUint32(out, uint32(len(data)))
	at := len(out)
	out = append(out, kind...)
	out = append(out, data...)
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(out[at:]))
}

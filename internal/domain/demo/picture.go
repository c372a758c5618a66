package demo

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"image"
	"image/color"
	"image/png"

	"endcast/internal/domain/girder"
)

// picture draws what a photograph at a step would roughly show: the web with its
// rust, cleaned, under studs, under its form or its panel. It is a small PNG.
func picture(n girder.Name, code string, i int) []byte {
	const w, h = 96, 72
	m := steelOf(n, true)
	palette := color.Palette{color.Gray{0x10}}
	for k := range 15 {
		f := uint8(k * 17)
		switch code {
		case "CLN", "MSR", "COL":
			palette = append(palette, color.RGBA{0x50 + f/2, 0x38 + f*5/8, 0x28 + f*3/4, 0xff})
		default:
			palette = append(palette, color.RGBA{0x40 + f/2, 0x40 + f/2, 0x42 + f/2, 0xff})
		}
	}
	grain := uniform(m.key, code)
	img := image.NewPaletted(image.Rect(0, 0, w, h), palette)
	for y := range h {
		for x := range w {
			px, pz := float64(x)*0.4, float64(h-y)*0.4
			if i%2 == 1 {
				px = float64(w-x) * 0.4
			}
			v := 3 + int(11*m.at(px, pz)/m.web)
			switch {
			case y > h-6:
				v = 8 // flange
			case code == "COL" && (x/10)%2 == 1 && (y/10)%2 == 1 && x%10 > 3 && x%10 < 7 && y%10 > 3 && y%10 < 7:
				v = 15
			case code == "FRM" && x > 8 && x < 70 && y > 10:
				v = 6 + (x/9+y/14)%2
			case code == "CST" && x > 8 && x < 70 && y > 10:
				v = 6 + int(8*grain)*(y%3)/6
			case code == "HRD" && x > 8 && x < 70 && y > 10:
				v = 11 + (x*7+y*13+n.Girder)%3/2
			}
			img.SetColorIndex(x, y, uint8(max(0, min(15, v))))
		}
	}
	img.SetColorIndex(0, 0, uint8(i%16)) // no two pictures of a step are the same file
	img.SetColorIndex(1, 0, uint8(len(code)+int(code[0]))%16)
	img.SetColorIndex(2, 0, uint8(code[1])%16)
	var out bytes.Buffer
	if err := png.Encode(&out, img); err != nil {
		return nil
	}
	return out.Bytes()
}

func sum(b []byte) string {
	s := sha256.Sum256(b)
	return hex.EncodeToString(s[:])
}

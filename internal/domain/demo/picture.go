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

// Size of a picture in dots, and how many inches a dot covers.
const (
	pictureWide, pictureHigh = 120, 90
	dot                      = 1. / 3
)

// Places in the palette after the ramp from rust to bright steel.
const (
	ramp = 12 + iota
	flangeInk
	timber
	timberJoint
	panel
	panelJoint
	bearing
	stud
	chalk
)

var palette = func() color.Palette {
	out := make(color.Palette, 0, chalk+1)
	rust, steel := [3]float64{96, 52, 30}, [3]float64{176, 178, 180}
	for i := range ramp {
		f := float64(i) / (ramp - 1)
		mix := func(k int) uint8 { return uint8(rust[k] + f*(steel[k]-rust[k])) }
		out = append(out, color.RGBA{mix(0), mix(1), mix(2), 255})
	}
	for _, c := range [...][3]uint8{{110, 74, 52}, {70, 60, 56}, {196, 160, 108}, {150, 116, 72}, {206, 206, 202}, {168, 168, 164}, {60, 62, 66}, {224, 226, 228}, {248, 248, 244}} {
		out = append(out, color.RGBA{c[0], c[1], c[2], 255})
	}
	return out
}()

// picture draws what a photograph at a step would roughly show: the web with its
// rust, cleaned, under studs, under its form or its panel. It is a small PNG.
func picture(n girder.Name, code string, i int) []byte {
	m := steelOf(n, true)
	img := image.NewPaletted(image.Rect(0, 0, pictureWide, pictureHigh), palette)
	web := pictureHigh - 11 // the flange lies below
	for y := range pictureHigh {
		for x := range pictureWide {
			across := x
			if i%2 == 1 {
				across = pictureWide - 1 - x // from the other side
			}
			img.SetColorIndex(x, y, shade(m, code, across, y, web))
		}
	}
	// A row of dots as a serial number, so that no two pictures are the same file.
	serial := sha256.Sum256([]byte(n.String() + code + string(rune('0'+i))))
	for k := range 16 {
		if serial[k/8]>>(k%8)&1 == 1 {
			img.SetColorIndex(pictureWide-20+k, 2, chalk)
		}
	}
	var out bytes.Buffer
	if err := png.Encode(&out, img); err != nil {
		return nil
	}
	return out.Bytes()
}

// shade is the colour of one dot.
func shade(m metal, code string, x, y, web int) uint8 {
	px, pz := float64(x)*dot, float64(web-y)*dot
	cast := px > 1 && px < 20 && pz > 0 && pz < 24
	switch {
	case y >= web+5: // the bearing, or air
		if px > center-4 && px < center+4 {
			return bearing
		}
		return flangeInk
	case y >= web:
		return ramp
	case code == "FRM" && cast:
		if x%14 == 0 || y%20 == 0 {
			return timberJoint
		}
		return timber
	case (code == "CST" || code == "HRD") && cast:
		if code == "CST" && pz > 21 || (x*31+y*17)%61 == 0 {
			return panelJoint
		}
		return panel
	case code == "COL" && x%12 > 4 && x%12 < 9 && y%14 > 5 && y%14 < 10 && px > 2 && px < 18 && pz > 4:
		return stud
	case code == "MSR" && (x%10 == 0 || y%10 == 0):
		return chalk
	}
	left := m.at(px, pz) / m.web
	grain := 0
	if left < 0.85 {
		grain = (x*7+y*13)%3 - 1
	}
	return uint8(max(0, min(ramp-1, int(left*ramp)-1+grain)))
}

func sum(b []byte) string {
	s := sha256.Sum256(b)
	return hex.EncodeToString(s[:])
}

package tablet

import (
	"fmt"
	"strings"

	"rsc.io/qr"
)

// quiet is the empty margin round a symbol in modules: ISO/IEC 18004 asks for 4.
const quiet = 4

// Code is a QR symbol ready to be drawn: a square of Size modules a side, the
// quiet zone included, and the path of its dark modules.
type Code struct {
	Size int
	Path string
}

// ViewBox is the extent of the drawing.
func (c Code) ViewBox() string { return fmt.Sprintf("0 0 %d %d", c.Size, c.Size) }

// Encode makes the symbol of a text at error correction level H, which reads with
// about three tenths of it gone: a label on a bridge is scratched and splashed.
func Encode(text string) (Code, error) {
	c, err := qr.Encode(text, qr.H)
	if err != nil {
		return Code{}, fmt.Errorf("code of %d characters: %w", len(text), err)
	}
	var b strings.Builder
	for y := range c.Size {
		for x := 0; x < c.Size; x++ {
			n := 0
			for x+n < c.Size && c.Black(x+n, y) {
				n++
			}
			if n > 0 {
				fmt.Fprintf(&b, "M%d %dh%dv1h-%dz", x+quiet, y+quiet, n, n)
				x += n
			}
		}
	}
	return Code{Size: c.Size + 2*quiet, Path: b.String()}, nil
}

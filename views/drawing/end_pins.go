package drawing

// drawnPin is the mark of a photograph: where it was taken, and beside it, where marks
// would cover each other, its number.
type drawnPin struct {
	Pin
	fromX, fromY, x, y float64
}

const pinRadius = 9.0

// stick places the marks of photographs. One that would cover another is moved off in
// steps, with a line to its place.
func (l *endLayout) stick(pins []Pin) {
	for _, p := range pins {
		if !finite(float64(p.X), float64(p.Z)) {
			continue
		}
		d := drawnPin{Pin: p, fromX: keepIn(l.x(float64(p.X)), pinRadius, l.width-pinRadius), fromY: keepIn(l.z(float64(p.Z)), pinRadius, l.height-pinRadius)}
		d.x, d.y = d.fromX, d.fromY
		for try := 0; try < 24 && l.covered(d); try++ {
			d.x = keepIn(d.fromX+float64(1+try/6)*2.3*pinRadius*pinWays[try%6][0], pinRadius, l.width-pinRadius)
			d.y = keepIn(d.fromY+float64(1+try/6)*2.3*pinRadius*pinWays[try%6][1], pinRadius, l.height-pinRadius)
		}
		l.pins = append(l.pins, d)
	}
}

var pinWays = [6][2]float64{{1, 0}, {0.5, -0.87}, {-0.5, -0.87}, {-1, 0}, {-0.5, 0.87}, {0.5, 0.87}}

func keepIn(v, lo, hi float64) float64 { return max(lo, min(v, hi)) }

func (l *endLayout) covered(d drawnPin) bool {
	for _, o := range l.pins {
		if dx, dy := o.x-d.x, o.y-d.y; dx*dx+dy*dy < 4*pinRadius*pinRadius {
			return true
		}
	}
	return false
}

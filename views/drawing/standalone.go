package drawing

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"github.com/a-h/templ"

	"endcast/static"
)

// Standalone renders the drawing of a component as an SVG file of its own: its colors
// are those of paper, written into it, so that it needs no style sheet beside it.
func Standalone(ctx context.Context, c templ.Component) ([]byte, error) {
	var b bytes.Buffer
	if err := c.Render(ctx, &b); err != nil {
		return nil, fmt.Errorf("drawing: %w", err)
	}
	text := b.String()
	from := strings.Index(text, "<svg")
	to := strings.Index(text, "</svg>")
	if from < 0 || to < from {
		return nil, fmt.Errorf("drawing: there is none in it")
	}
	text = text[from : to+len("</svg>")]
	text = strings.Replace(text, "<svg", `<svg xmlns="http://www.w3.org/2000/svg" class="dwg"`, 1)
	end := strings.IndexByte(text, '>') + 1
	return []byte(`<?xml version="1.0" encoding="UTF-8"?>` + "\n" + text[:end] + "<style>" + paperStyle() + "</style>" + text[end:] + "\n"), nil
}

// paperStyle is the style sheet of the drawings with every color as it is on paper.
var paperStyle = sync.OnceValue(func() string {
	sheet := comment.ReplaceAllString(string(static.Sheet("drawing.css")), "")
	vars := map[string]string{}
	for _, text := range []string{string(static.Sheet("tokens.css")), sheet} {
		for _, m := range custom.FindAllStringSubmatch(comment.ReplaceAllString(text, ""), -1) {
			if _, ok := vars[m[1]]; !ok {
				vars[m[1]] = strings.TrimSpace(m[2])
			}
		}
	}
	var out strings.Builder
	out.WriteString(".dwg{background:#fff;color:" + onPaper("var(--ink)", vars) + "}\n")
	depth := 0
	for _, m := range rule.FindAllStringSubmatch(sheet, -1) {
		head, body := strings.TrimSpace(m[1]), m[2]
		if i := strings.LastIndexAny(head, "{}"); i >= 0 { // within, or behind, a rule for screens of one kind
			depth += strings.Count(head, "{") - strings.Count(head, "}")
			head = strings.TrimSpace(head[i+1:])
		}
		if depth > 0 {
			continue
		}
		var heads []string
		for h := range strings.SplitSeq(head, ",") {
			h = strings.TrimSpace(h)
			if strings.HasPrefix(h, ".dwg svg ") || strings.HasPrefix(h, ".dwg .") {
				heads = append(heads, strings.Replace(h, ".dwg svg ", ".dwg ", 1))
			}
		}
		if len(heads) > 0 {
			out.WriteString(strings.Join(heads, ",") + "{" + strings.Join(strings.Fields(onPaper(body, vars)), " ") + "}\n")
		}
	}
	return out.String()
})

var (
	comment = regexp.MustCompile(`(?s)/\*.*?\*/`)
	custom  = regexp.MustCompile(`(--[a-z0-9-]+)\s*:\s*([^;{}]+);`)
	rule    = regexp.MustCompile(`([^;]*?)\{([^{}]*)\}`)
	use     = regexp.MustCompile(`var\((--[a-z0-9-]+)\)`)
	light   = regexp.MustCompile(`light-dark\(\s*([^(),]+?)\s*,[^()]*\)`)
	mix     = regexp.MustCompile(`color-mix\(in oklab,\s*(#[0-9a-f]{6})\s+([0-9.]+)%,\s*(#[0-9a-f]{6})\s*\)`)
)

// onPaper puts values in the place of variables, the light one of two, and the color
// that a mixture makes.
func onPaper(text string, vars map[string]string) string {
	for range 12 {
		was := text
		text = use.ReplaceAllStringFunc(text, func(s string) string { return vars[use.FindStringSubmatch(s)[1]] })
		text = light.ReplaceAllString(text, "$1")
		text = mix.ReplaceAllStringFunc(text, func(s string) string {
			m := mix.FindStringSubmatch(s)
			share, _ := strconv.ParseFloat(m[2], 64)
			return mixed(m[1], m[3], share/100)
		})
		if text == was {
			break
		}
	}
	return text
}

// mixed is share of color a in b, mixed in the space in which browsers do it (CSS
// Color 4: sRGB to OKLab and back).
func mixed(a, b string, share float64) string {
	x, y := oklab(a), oklab(b)
	for i := range x {
		x[i] = x[i]*share + y[i]*(1-share)
	}
	l := math.Pow(x[0]+0.3963377774*x[1]+0.2158037573*x[2], 3)
	m := math.Pow(x[0]-0.1055613458*x[1]-0.0638541728*x[2], 3)
	s := math.Pow(x[0]-0.0894841775*x[1]-1.2914855480*x[2], 3)
	out := "#"
	for _, c := range []float64{4.0767416621*l - 3.3077115913*m + 0.2309699292*s, -1.2684380046*l + 2.6097574011*m - 0.3413193965*s, -0.0041960863*l - 0.7034186147*m + 1.7076147010*s} {
		v := 12.92 * c
		if c > 0.0031308 {
			v = 1.055*math.Pow(c, 1/2.4) - 0.055
		}
		out += fmt.Sprintf("%02x", int(math.Round(255*min(max(v, 0), 1))))
	}
	return out
}

func oklab(hex string) [3]float64 {
	var c [3]float64
	for i := range c {
		n, _ := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		v := float64(n) / 255
		if v <= 0.04045 {
			c[i] = v / 12.92
		} else {
			c[i] = math.Pow((v+0.055)/1.055, 2.4)
		}
	}
	l := math.Cbrt(0.4122214708*c[0] + 0.5363325363*c[1] + 0.0514459929*c[2])
	m := math.Cbrt(0.2119034982*c[0] + 0.6806995451*c[1] + 0.1073969566*c[2])
	s := math.Cbrt(0.0883024619*c[0] + 0.2817188376*c[1] + 0.6299787005*c[2])
	return [3]float64{0.2104542553*l + 0.7936177850*m - 0.0040720468*s, 1.9779984951*l - 2.4285922050*m + 0.4505937099*s, 0.0259040371*l + 0.7827717662*m - 0.8086757660*s}
}

// Package static serves the style sheets, scripts and fonts, all embedded in the
// binary, under paths that carry a hash of the content so that browsers may keep
// them for ever.
//
// The hash covers the whole tree, not each file: a script that imports "./other.js"
// or a style sheet that names a font beside it finds it under the same hash.
package static

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"encoding/hex"
	"io/fs"
	"net/http"
	"path"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"
)

//go:embed css img js vendor
var files embed.FS

// Prefix is where the handler is to be mounted.
const Prefix = "/static/"

// first and last give the order of the style sheets that others build on; those
// that are not named come between, by name.
var first = []string{"tokens.css", "base.css", "forms.css", "sheet.css"}
var last = []string{"print.css"}

// appCSS is every style sheet of css/ in one, served as app.css.
var appCSS = join()

var version = hash()

func join() []byte {
	entries, err := fs.ReadDir(files, "css")
	if err != nil {
		panic("static: " + err.Error())
	}
	var middle []string
	for _, e := range entries {
		if n := e.Name(); !slices.Contains(first, n) && !slices.Contains(last, n) {
			middle = append(middle, n)
		}
	}
	var out bytes.Buffer
	for _, n := range slices.Concat(first, middle, last) {
		b, err := files.ReadFile("css/" + n)
		if err != nil {
			panic("static: " + err.Error())
		}
		out.Write(b)
		out.WriteByte('\n')
	}
	return out.Bytes()
}

func hash() string {
	h := sha256.New()
	err := fs.WalkDir(files, ".", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := files.ReadFile(p)
		h.Write([]byte(p))
		h.Write(b)
		return err
	})
	if err != nil {
		panic("static: " + err.Error())
	}
	return hex.EncodeToString(h.Sum(nil))[:12]
}

// Version is the hash of everything served here. A service worker can name its
// cache after it.
func Version() string { return version }

// Path returns the address of a file: Path("app.css"), Path("js/app.js").
func Path(name string) string { return Prefix + version + "/" + name }

// Read returns a file as it is served, for a caller that must serve it elsewhere
// (a service worker has to live at the root).
func Read(name string) ([]byte, error) {
	if name == "app.css" {
		return appCSS, nil
	}
	return files.ReadFile(name)
}

// Whole is the style sheet with the fonts that it names inside it, for a page that is to
// stand alone.
var Whole = sync.OnceValue(func() []byte {
	return fontOf.ReplaceAllFunc(appCSS, func(m []byte) []byte {
		name := string(fontOf.FindSubmatch(m)[1])
		b, err := files.ReadFile(name)
		if err != nil {
			panic("static: " + err.Error())
		}
		return []byte(`url("data:font/woff2;base64,` + base64.StdEncoding.EncodeToString(b) + `")`)
	})
})

var fontOf = regexp.MustCompile(`url\("(vendor/[^"]+\.woff2)"\)`)

// types are set by hand: the registry of the machine may miss or bend them.
var types = map[string]string{
	".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".mjs": "text/javascript; charset=utf-8",
	".woff2": "font/woff2", ".svg": "image/svg+xml", ".png": "image/png", ".json": "application/json",
	".webmanifest": "application/manifest+json", ".txt": "text/plain; charset=utf-8",
}

// Handler serves the files. An address with another hash, as an old page asks for
// after an upgrade, gets the file of today and is not to be kept.
func Handler() http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		rest := strings.TrimPrefix(r.URL.Path, Prefix)
		asked, name, ok := strings.Cut(rest, "/")
		kind, known := types[path.Ext(name)]
		if !ok || !known || !fs.ValidPath(name) {
			http.NotFound(w, r)
			return
		}
		b, err := Read(name)
		if err != nil {
			http.NotFound(w, r)
			return
		}
		w.Header().Set("Content-Type", kind)
		w.Header().Set("X-Content-Type-Options", "nosniff")
		if asked == version {
			w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
		} else {
			w.Header().Set("Cache-Control", "no-store")
		}
		http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(b))
	})
}

// Sheet returns one style sheet of css/, for a file that must carry its own; nil where
// there is none of the name.
func Sheet(name string) []byte {
	b, err := files.ReadFile("css/" + name)
	if err != nil {
		return nil
	}
	return b
}

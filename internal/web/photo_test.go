package web_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"image"
	"image/png"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/web/webtest"
)

// pictureOf is a small picture.
func pictureOf(t testing.TB, size int) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, image.NewGray(image.Rect(0, 0, size, size))))
	return b.Bytes()
}

// sendPicture sends a picture as a browser does.
func sendPicture(c *webtest.Client, path string, data []byte, form fields) *webtest.Answer {
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	for k, v := range form {
		_ = w.WriteField(k, v)
	}
	if data != nil {
		part, _ := w.CreateFormFile("photo", "../../etc/passwd")
		_, _ = part.Write(data)
	}
	_ = w.Close()
	r := httptest.NewRequest(http.MethodPost, webtest.Base+path, &b)
	r.Header.Set("Content-Type", w.FormDataContentType())
	return c.Do(r)
}

func TestPhotographIsAddedAndServed(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	path := p.Path("ends", "1N-1")
	who := p.Role(authz.Inspector)
	data := pictureOf(t, 8)
	form := fields{"entry": newEntryID(), "caption": "north face <b>", "subject": "CLN", "captured_at": ago(3600e9).Format("2006-01-02T15:04")}
	sendPicture(who, path+"/photos", data, form).LeadsTo(path + "#photos")
	sendPicture(who, path+"/photos", data, form).Status(303) // sent twice, counts once
	require.Len(t, p.End("1N-1").Photos, 1)
	sendPicture(who, path+"/photos", data, fields{"entry": newEntryID()}).Status(422).Has("on record at this end already")

	sum := sha256.Sum256(data)
	src := path + "/photos/" + hex.EncodeToString(sum[:])
	page := who.Get(path).Status(200)
	page.Has("north face &lt;b&gt;", "Cleaned")
	require.Equal(t, src+"/thumb", webtest.Attr(page.Select(".photos img")[0], "src"))

	a := who.Get(src).Status(200)
	require.Equal(t, string(data), a.Body)
	h := a.Response.Header
	require.Equal(t, "image/png", h.Get("Content-Type"))
	require.Equal(t, "nosniff", h.Get("X-Content-Type-Options"))
	require.Equal(t, "default-src 'none'; sandbox; frame-ancestors 'none'", h.Get("Content-Security-Policy"))
	who.Get(path + "/photos/" + "00").Status(404)
	p.Anonymous().Get(src).Status(303)
	p.AsIn(p.NewProgram("other"), authz.Engineer).Get(src).Status(404)
	p.AsIn(p.NewProgram("third"), authz.Engineer).Get("/p/third/ends/1N-1/photos/" + hex.EncodeToString(sum[:])).Status(404)
}

func TestPhotographIsRefused(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	path := p.Path("ends", "1N-1") + "/photos"
	who := p.Role(authz.Contractor)
	a := sendPicture(who, path, []byte("<html><script>alert(1)</script>"), fields{"entry": newEntryID(), "caption": "kept"}).Status(422)
	a.Has("ust be a JPEG, PNG or WebP picture", `value="kept"`)
	sendPicture(who, path, nil, fields{"entry": newEntryID()}).Status(422).Has("hoose a file")
	sendPicture(who, path, pictureOf(t, 4), fields{"entry": newEntryID(), "captured_at": "soon"}).Status(422).Has("date and a time")
	sendPicture(who, path, pictureOf(t, 4), fields{"entry": newEntryID(), "captured_at": "2999-01-01T00:00"}).Status(422).Has("in the future")
	sendPicture(who, path, bytes.Repeat([]byte{0}, 21<<20), fields{"entry": newEntryID()}).Status(413)
	for _, role := range []authz.Role{authz.Manager, authz.Administrator} {
		sendPicture(p.Role(role), path, pictureOf(t, 4), fields{"entry": newEntryID()}).Status(403)
	}
	require.Empty(t, p.End("1N-1").Photos)
}

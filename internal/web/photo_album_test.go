package web_test

import (
	"bytes"
	"encoding/binary"
	"net/http"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/browsertest"
)

// withPlace is a picture whose metadata say where it was taken.
func withPlace(t testing.TB, seed uint64) []byte {
	t.Helper()
	meta := []byte("http://ns.adobe.com/xap/1.0/\x00<x exif:GPSLatitude='40,0N'/>")
	head := binary.BigEndian.AppendUint16([]byte{0xFF, 0xD8, 0xFF, 0xE1}, uint16(len(meta)+2))
	return append(append(head, meta...), snapshot(seed, 4000)[2:]...)
}

func (p *testProgram) policy(policy string) {
	p.t.Helper()
	now, err := p.Store.Program(p.ctx, p.ID)
	require.NoError(p.t, err)
	now.PhotoPolicy = policy
	p.DoProgram(authz.Administrator, repair.EditProgram{Program: now})
}

func TestPhotoIsPinnedAndPinnedAnew(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	who, path := p.Role(authz.Inspector), p.Path("ends", "1N-1")
	data := pictureOf(t, 20)
	sendPicture(who, path+"/photos", data, fields{"entry": newEntryID(), "caption": "hole", "face": "L", "x": "12", "z": ""}).Status(422).Has("pin needs both")
	sendPicture(who, path+"/photos", data, fields{"entry": newEntryID(), "face": "", "x": "12", "z": "4"}).Status(422).Has("which face")
	sendPicture(who, path+"/photos", data, fields{"entry": newEntryID(), "caption": "hole", "face": "L", "x": "12", "z": "4"}).Status(303)
	ph := p.End("1N-1").Photos[0]
	require.Equal(t, []any{12 * units.Inch, 4 * units.Inch, 20, 20, "passwd"}, []any{*ph.X, *ph.Z, ph.Width, ph.Height, ph.OriginalName})
	who.Get(path).Status(200).Has(`data-pin="1"`)
	who.Get(path+"/photos").Status(200).Has(`data-pin="1"`, "left face", ph.SHA256[:12])
	who.Get(path + "/photos?face=R").Status(200).Has("0 of 1 photographs").None(`[data-pin]`)
	sheet := path + "/photos/" + ph.SHA256 + "/sheet"
	who.Get(sheet).Status(200).Has(ph.SHA256, "hole", "20 × 20")
	who.Post(sheet, "entry", newEntryID(), "face", "R", "x", "6", "z", "8", "caption", "hole, other side").Status(303)
	ph = p.End("1N-1").Photos[0]
	require.Equal(t, []any{"R", 6 * units.Inch, "hole, other side"}, []any{ph.Face, *ph.X, ph.Caption})
	who.Post(sheet, "entry", newEntryID(), "face", "R", "x", "9999", "z", "8").Status(422).Has("within ten depths")
	p.Role(authz.Manager).Post(sheet, "entry", newEntryID(), "face", "R").Status(403)
	thumb := who.Get(path + "/photos/" + ph.SHA256 + "/thumb").Status(200)
	require.Equal(t, "image/jpeg", thumb.Response.Header.Get("Content-Type"))
	p.verified()
}

func TestPhotoPolicy(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	who, path := p.Role(authz.Inspector), p.Path("ends", "1N-1", "photos")
	one, two := withPlace(t, 1), withPlace(t, 2)
	sendPicture(who, path, one, fields{"entry": newEntryID()}).Status(303)
	at := func(data []byte, more string) string { return path + "/" + hashOf(data) + more }
	require.Equal(t, string(one), who.Get(at(one, "")).Status(200).Body)

	// Sealed: what is shown says no place, the hash stays that of the original.
	p.policy(repair.PhotosSealed)
	who.Get(path).Has("Copies without metadata")
	shown := who.Get(at(one, "")).Status(200).Body
	require.NotContains(t, shown, "GPS")
	require.NotEqual(t, string(one), shown)
	who.Get(at(one, "/original")).Status(403)
	require.Equal(t, string(one), p.Role(authz.Engineer).Get(at(one, "/original")).Status(200).Body)
	require.Equal(t, string(one), p.Role(authz.Administrator).Get(at(one, "/original")).Status(200).Body)
	sendPicture(who, path, two, fields{"entry": newEntryID()}).Status(303)
	p.policy(repair.PhotosAsTaken)
	require.NotContains(t, who.Get(at(two, "")).Status(200).Body, "GPS", "what came sealed stays sealed")

	p.policy(repair.PhotosNoPlace)
	sendPicture(who, path, withPlace(t, 3), fields{"entry": newEntryID()}).Status(422).Has("switch the position off")
	sendPicture(who, path, snapshot(4, 4000), fields{"entry": newEntryID()}).Status(303)
	// What cannot be decoded has a plain card for its small copy.
	card := who.Get(at(snapshot(4, 4000), "/thumb")).Status(200)
	require.Equal(t, "image/svg+xml", card.Response.Header.Get("Content-Type"))
	p.verified()
}

func TestBombAndTextAreNoPhotographs(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	who, path := p.Role(authz.Inspector), p.Path("ends", "1N-1", "photos")
	bomb := bytes.Clone(pictureOf(t, 8))
	copy(bomb[16:24], "\x00\x00\xc3\x50\x00\x00\xc3\x50") // 50,000 by 50,000
	sendPicture(who, path, bomb, fields{"entry": newEntryID()}).Status(422).Has("at most 100 megapixels here, this one claims 2500.0")
	sendPicture(who, path, []byte("no picture at all"), fields{"entry": newEntryID()}).Status(422).Has("ust be a JPEG, PNG or WebP picture")
	sendPicture(who, path, snapshot(5, 50<<20), fields{"entry": newEntryID()}).Status(http.StatusRequestEntityTooLarge)
	require.Empty(t, p.End("1N-1").Photos)
}

func TestPhotoPages(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	for i := range 8 {
		x, z := units.Length(3*i)*units.Inch, units.Length(4+i)*units.Inch
		p.Do(authz.Inspector, "1N-1", repair.AddPhoto{Bytes: pictureOf(t, 30+i), Caption: "corroded web", Subject: "CLN", Face: []string{"L", "R"}[i%2], X: &x, Z: &z})
	}
	page := p.Browser(authz.Inspector)
	p.Look(page, p.Path("ends", "1N-1", "photos"), "photo-album")
	sheet := p.Path("ends", "1N-1", "photos", p.End("1N-1").Photos[0].SHA256, "sheet")
	p.Look(page, sheet, "photo-sheet")
	// Pressing on the drawing fills the two distances in.
	page.SetViewport(1280, 800)
	page.Open(sheet)
	browsertest.Eval[bool](page, `(() => { const s = document.querySelector("#pin-drawing svg"), m = s.getScreenCTM(), d = s.dataset;
		const at = new DOMPoint(Number(d.originX) + Number(d.flip) * 254 * d.scale, Number(d.originZ) - 127 * d.scale).matrixTransform(m);
		s.dispatchEvent(new MouseEvent("click", {bubbles: true, clientX: at.x, clientY: at.y})); return true })()`)
	require.Equal(t, "10.0 5.0", browsertest.Eval[string](page, `document.querySelector("[name=x]").value + " " + document.querySelector("[name=z]").value`))
}

// On the tablet a press on the drawing pins the pictures that are taken next.
func TestTabletPinsAPhotograph(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	page := p.Browser(authz.Inspector)
	p.onShift(page, "1N-1")
	goTo(page, "#/end/1N-1")
	page.Click("#yes")
	page.WaitFor(`document.querySelector(".t-drawing svg")`)
	goTo(page, "#/end/1N-1/photo")
	browsertest.Eval[bool](page, `(() => { document.querySelector("[name=face][value=R]").checked = true; const s = document.querySelector(".t-drawing svg[data-scale]"), m = s.getScreenCTM(), d = s.dataset;
		const at = new DOMPoint(Number(d.originX) + Number(d.flip) * 254 * d.scale, Number(d.originZ) - 127 * d.scale).matrixTransform(m);
		s.dispatchEvent(new MouseEvent("click", {bubbles: true, clientX: at.x, clientY: at.y})); return true })()`)
	file := filepath.Join(t.TempDir(), "web.jpg")
	require.NoError(t, os.WriteFile(file, snapshot(7, 9000), 0o600))
	page.Attach("#f-photo", file)
	page.WaitFor(`document.querySelector("#taken img")`)
	// The queue tells nothing before the picture is in it, and stands at nothing then too.
	require.Eventually(t, func() bool { return len(p.End("1N-1").Photos) > 0 }, time.Minute, 50*time.Millisecond)
	waitQueue(t, page, 0)
	ph := p.End("1N-1").Photos[0]
	require.Equal(t, "R", ph.Face)
	require.InDelta(t, 254, float64(*ph.X), 1.5)
	require.InDelta(t, 127, float64(*ph.Z), 1.5)
	require.Equal(t, "web.jpg", ph.OriginalName)
}

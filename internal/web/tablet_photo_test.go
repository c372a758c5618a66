package web_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/tablet"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

// snapshot is something that begins like a JPEG and goes on at random.
func snapshot(seed uint64, size int) []byte {
	r := rand.New(rand.NewPCG(seed, 1))
	out := make([]byte, size)
	for i := range out {
		out[i] = byte(r.Uint32())
	}
	copy(out, "\xff\xd8\xff\xe0\x00\x10JFIF\x00\x01\x01\x00\x00\x01\x00\x01\x00\x00"+ // a head that says how large it is
		"\xff\xc0\x00\x11\x08\x0b\xb8\x0f\xa0\x03\x01\x22\x00\x02\x11\x01\x03\x11\x01\xff\xda\x00\x0c\x03\x01\x00\x02\x11\x03\x11\x00\x3f\x00")
	return out
}

func hashOf(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

func (p *testProgram) photoSlip(who *webtest.Client, data []byte, changes ...func(*tablet.Envelope)) (raw []byte, id string) {
	raw = p.slip(who, "1N-1", tablet.Photo, map[string]any{"sha256": hashOf(data), "size": len(data), "caption": "bearing", "face": "L", "x": "12 in", "z": "4 in"}, changes...)
	return raw, tablet.Named(raw)
}

// piece sends a piece and returns how much is there, or the status of a refusal.
func (p *testProgram) piece(who *webtest.Client, id string, whole []byte, start int, part []byte) (have, status int) {
	p.t.Helper()
	a := p.postJSON(who, fmt.Sprintf("%s?entry=%s&sha256=%s&size=%d&start=%d", p.Path("tablet", "pieces"), id, hashOf(whole), len(whole), start), part)
	var out struct{ Have int }
	if a.Response.StatusCode == http.StatusOK {
		require.NoError(p.t, json.Unmarshal([]byte(a.Body), &out))
	}
	return out.Have, a.Response.StatusCode
}

func TestPictureComesInPieces(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	inspector, photos := p.Role(authz.Inspector), p.Path("tablet", "photos")
	data := snapshot(1, 700<<10)
	raw, id := p.photoSlip(inspector, data)
	have, status := p.piece(inspector, id, data, 0, nil)
	require.Equal(t, []int{0, 200}, []int{have, status}, "nothing is there yet")
	have, _ = p.piece(inspector, id, data, 0, data[:256<<10])
	require.Equal(t, 256<<10, have)
	have, _ = p.piece(inspector, id, data, 0, data[:256<<10])
	require.Equal(t, 256<<10, have, "a piece that came twice counts once")
	have, _ = p.piece(inspector, id, data, 600<<10, data[600<<10:])
	require.Equal(t, 256<<10, have, "a piece that does not follow is left out")
	end := func(raw []byte) *webtest.Answer {
		body, err := json.Marshal(map[string]any{"format": 1, "sent_at": time.Now().Format(time.RFC3339), "entries": []json.RawMessage{raw}})
		require.NoError(t, err)
		return p.postJSON(inspector, photos, body)
	}
	end(raw).Status(409).Has("of 716800 bytes")
	have, _ = p.piece(inspector, id, data, have, data[have:have+(300<<10)])
	have, _ = p.piece(inspector, id, data, have, data[have:])
	require.Equal(t, len(data), have)
	end(raw).Status(200).Has(`"state":"stored"`)
	end(raw).Status(200).Has(`"repeated":true`)
	require.Len(t, p.End("1N-1").Photos, 1)
	ph := p.End("1N-1").Photos[0]
	require.Equal(t, hashOf(data), ph.SHA256)
	require.Equal(t, "bearing", ph.Caption)
	require.Equal(t, []any{"L", 12 * units.Inch, 4 * units.Inch, int64(len(data)), 4000, 3000}, []any{ph.Face, *ph.X, *ph.Z, ph.Size, ph.Width, ph.Height})
	require.NotEmpty(t, ph.DeviceAt)
	a := inspector.Get(p.Path("ends", "1N-1", "photos", ph.SHA256)).Status(200)
	require.Equal(t, hashOf(data), hashOf([]byte(a.Body)), "the original, byte for byte")

	// The same picture once more under another number is on record already.
	twin, twinID := p.photoSlip(inspector, data)
	for have < 2*len(data) {
		n, _ := p.piece(inspector, twinID, data, have-len(data), data[have-len(data):min(have-len(data)+(400<<10), len(data))])
		have = len(data) + n
	}
	end(twin).Status(200).Has(`"state":"stored"`)
	require.Len(t, p.End("1N-1").Photos, 1)
	p.verified()

	var left int
	require.NoError(t, p.Pool.QueryRow(p.ctx, "select count(*) from tablet_piece").Scan(&left))
	require.Zero(t, left, "pieces are dropped once the picture is on record")
}

func TestPictureThatIsNone(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	inspector, photos := p.Role(authz.Inspector), p.Path("tablet", "photos")
	end := func(who *webtest.Client, raw []byte) *webtest.Answer {
		body, err := json.Marshal(map[string]any{"format": 1, "sent_at": time.Now().Format(time.RFC3339), "entries": []json.RawMessage{raw}})
		require.NoError(t, err)
		return p.postJSON(who, photos, body)
	}
	text := bytes.Repeat([]byte("no picture at all. "), 100)
	raw, id := p.photoSlip(inspector, text)
	p.piece(inspector, id, text, 0, text)
	end(inspector, raw).Status(200).Has(`"state":"refused"`, "must be a JPEG, PNG or WebP picture")

	// Other bytes than those announced: begun anew.
	data, other := snapshot(2, 1000), snapshot(3, 1000)
	raw, id = p.photoSlip(inspector, data)
	p.piece(inspector, id, data, 0, other)
	end(inspector, raw).Status(409).Has("its hash differs")
	have, _ := p.piece(inspector, id, data, 0, data)
	require.Equal(t, 1000, have)
	_, status := p.piece(p.As(authz.Inspector), id, data, 0, data)
	require.Equal(t, 409, status, "another person's number")
	_, status = p.piece(inspector, id, other, 0, other)
	require.Equal(t, 409, status, "another picture's number")
	end(p.As(authz.Inspector), raw).Status(403)
	end(inspector, raw).Status(200).Has(`"state":"stored"`)

	// Fifty megabytes are refused before a byte of them is sent.
	a := p.postJSON(inspector, fmt.Sprintf("%s?entry=%s&sha256=%s&size=%d&start=0", p.Path("tablet", "pieces"), newEntryID(), hashOf(data), 50<<20), nil)
	a.Status(413).Has("at most 20 MB", "50.0 MB")
	p.postJSON(inspector, p.Path("tablet", "pieces"), nil).Status(400)

	// A picture of an end that is gone is kept with the entry, whole.
	lost := snapshot(4, 2000)
	raw, id = p.photoSlip(inspector, lost, func(e *tablet.Envelope) { e.EndID, e.End = newEntryID(), "9F-9" })
	p.piece(inspector, id, lost, 0, lost)
	end(inspector, raw).Status(200).Has(`"state":"aside"`)
	var kept []byte
	require.NoError(t, p.Pool.QueryRow(p.ctx, "select bytes from photo_blob where sha256 = $1", hashOf(lost)).Scan(&kept))
	require.Equal(t, lost, kept)
}

package repair

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"unicode"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/picture"
	"endcast/internal/domain/units"
)

// What is done about the metadata of photographs, which may tell where they were
// taken and with whose device.
const (
	PhotosAsTaken = ""       // the original is shown as it is
	PhotosSealed  = "sealed" // copies without metadata are shown; the original is for engineer and administrator
	PhotosNoPlace = "refuse" // pictures that carry a place are refused
)

// PhotoPolicyWords says what a policy means, for the pages where pictures are taken
// and shown.
func PhotoPolicyWords(policy string) string {
	switch policy {
	case PhotosSealed:
		return "Copies without metadata are shown: no position, no device. The original is kept sealed, for the engineer and the administrator."
	case PhotosNoPlace:
		return "Pictures that carry a position are refused: switch the position off in the camera."
	}
	return "The original is kept and shown as it is, with the position where the camera wrote one."
}

// Sealed reports whether only copies without metadata may be shown: by what is in
// force now or what was when the picture came, whichever keeps more to itself.
func (p Photo) Sealed(now string) bool { return now == PhotosSealed || p.Policy == PhotosSealed }

// maxPhoto is the largest picture taken, in bytes.
const maxPhoto = 20 << 20

// AddPhoto puts a picture on record. Subject says what it shows: a step code,
// "cleaning", "collar", or empty. Face, X and Z pin it to the drawing.
type AddPhoto struct {
	Bytes        []byte        `json:"-"`
	SHA256       string        `json:"sha256"` // of Bytes, so that the journal can be checked against the picture
	Caption      string        `json:"caption"`
	Subject      string        `json:"subject"`
	Face         string        `json:"face,omitempty"`
	X            *units.Length `json:"x_mm,omitempty"`
	Z            *units.Length `json:"z_mm,omitempty"`
	OriginalName string        `json:"original_name,omitempty"`
	DeviceAt     string        `json:"device_at,omitempty"`
}

// Kind implements Change.
func (AddPhoto) Kind() string { return "photo.add" }

// Apply implements Change. What a picture is, is read from its content, never from a
// name; a size that no memory should be asked for is refused before a pixel is decoded.
func (ch AddPhoto) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	var bad fault.Invalid
	notAfter(&bad, "captured_at", c.Captured, c.Now)
	pin(&bad, s, r, ch.Face, ch.X, ch.Z)
	if len(ch.Bytes) == 0 || len(ch.Bytes) > maxPhoto {
		bad.Add("photo", "", "a picture must have from 1 byte to %d MB, got %.1f MB", maxPhoto>>20, float64(len(ch.Bytes))/(1<<20))
		return bad.Err()
	}
	info, err := picture.Inspect(ch.Bytes)
	switch {
	case err != nil:
		bad.Add("photo", "", "%s", fault.Message(err))
	case s.Program.PhotoPolicy == PhotosNoPlace && info.Position:
		bad.Add("photo", "", "it carries the position where it was taken, and this program takes none: switch the position off in the camera and take it again")
	case s.Program.PhotoPolicy == PhotosNoPlace && info.Unread:
		bad.Add("photo", "", "its metadata cannot be read, so that a position cannot be ruled out, and this program takes none")
	}
	if err := bad.Err(); err != nil {
		return err
	}
	sum := sha256.Sum256(ch.Bytes)
	sha := hex.EncodeToString(sum[:])
	for _, p := range r.Photos {
		if p.SHA256 == sha {
			return fault.New(fault.Duplicate, "this picture is on record at this end already")
		}
	}
	r.Photos = append(r.Photos, Photo{ID: c.NewID(), EndID: r.End.ID, SHA256: sha, MediaType: info.Kind, Caption: ch.Caption, Subject: ch.Subject,
		CapturedAt: c.Captured, ArrivedAt: c.Now, ByUser: c.Actor.ID, Face: ch.Face, X: ch.X, Z: ch.Z, Size: int64(len(ch.Bytes)), Width: info.Width, Height: info.Height,
		OriginalName: fileName(ch.OriginalName), TakenWith: info.Camera, CameraAt: info.Taken, DeviceAt: ch.DeviceAt, Place: info.Position || info.Unread, Policy: s.Program.PhotoPolicy})
	s.Blobs = append(s.Blobs, Blob{SHA256: sha, Bytes: ch.Bytes})
	return nil
}

// fileName is the last part of a name as a browser sends it, fit to print.
func fileName(name string) string {
	name = name[strings.LastIndexAny(name, `/\`)+1:]
	name = strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return -1
	}, strings.ToValidUTF8(name, ""))
	if r := []rune(name); len(r) > 120 {
		name = string(r[:120])
	}
	return strings.TrimSpace(name)
}

// pin checks where a picture is said to have been taken. A place needs its face, and
// lies on the girder or near it.
func pin(bad *fault.Invalid, s *Scope, r *Record, face string, x, z *units.Length) {
	if face != "" && face != "L" && face != "R" {
		bad.Add("face", face, "must be L or R, or empty")
	}
	if (x == nil) != (z == nil) {
		field := "x"
		if x != nil {
			field = "z"
		}
		bad.Add(field, "", "a pin needs both: how far from the girder end and how far above the bottom flange")
		return
	}
	if x == nil {
		return
	}
	if face == "" {
		bad.Add("face", "", "say on which face of the web it is")
	}
	sec, _ := s.Section(r.End.SectionID)
	depth := sec.Depth
	if depth <= 0 {
		depth = 3000
	}
	if !(*x >= -depth && *x <= 10*depth) {
		bad.Add("x", "", "must lie within ten depths of the girder end, got %.0f mm", float64(*x))
	}
	if !(*z >= -depth && *z <= 2*depth) {
		bad.Add("z", "", "must lie within a depth of the girder, got %.0f mm", float64(*z))
	}
}

// PinPhoto says anew where a picture was taken and what it shows. The picture stays
// as it is; the journal keeps what stood before.
type PinPhoto struct {
	SHA256  string        `json:"sha256"`
	Caption string        `json:"caption"`
	Subject string        `json:"subject"`
	Face    string        `json:"face,omitempty"`
	X       *units.Length `json:"x_mm,omitempty"`
	Z       *units.Length `json:"z_mm,omitempty"`
}

// Kind implements Change.
func (PinPhoto) Kind() string { return "photo.pin" }

// Apply implements Change.
func (ch PinPhoto) Apply(s *Scope, _ Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	var bad fault.Invalid
	pin(&bad, s, r, ch.Face, ch.X, ch.Z)
	if err := bad.Err(); err != nil {
		return err
	}
	for i := range r.Photos {
		if p := &r.Photos[i]; p.SHA256 == ch.SHA256 {
			p.Caption, p.Subject, p.Face, p.X, p.Z = strings.TrimSpace(ch.Caption), ch.Subject, ch.Face, ch.X, ch.Z
			return nil
		}
	}
	return fault.New(fault.NotFound, "there is no such picture at this end")
}

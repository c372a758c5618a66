package web

import (
	"io"
	"net/http"
	"strconv"

	"github.com/google/uuid"

	"endcast/internal/db"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/tablet"
)

// pieceLimit is the largest piece of a picture in bytes.
const pieceLimit = 512 << 10

// photoMost is the largest picture that this program takes, in bytes.
func photoMost(b basis.Basis) int64 { return int64(b.Value(basis.TabletPhoto) * (1 << 20)) }

// tabletPiece takes one piece of a picture and says how much of it is there. A
// request without bytes only asks.
func (s *Server) tabletPiece(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	id, err := uuid.Parse(q.Get("entry"))
	size, serr := strconv.ParseInt(q.Get("size"), 10, 64)
	start, oerr := strconv.ParseInt(q.Get("start"), 10, 64)
	sha := q.Get("sha256")
	if err != nil || serr != nil || oerr != nil || start < 0 || size < 1 || !hexSum(sha) {
		return fault.New(fault.Malformed, "a piece needs entry, sha256, size and start")
	}
	frame, err := s.store.Frame(r.Context(), s.program(r).ID.String())
	if err != nil {
		return err
	}
	if most := photoMost(frame.Basis()); size > most {
		return fault.New(fault.TooLarge, "a picture has at most %d MB here, this one has %.1f MB", most>>20, float64(size)/(1<<20))
	}
	bytes, err := io.ReadAll(r.Body)
	if err != nil {
		return asTooLarge(err)
	}
	have, err := s.store.AddTabletPiece(r.Context(), db.TabletPiece{EntryID: id.String(), ProgramID: s.program(r).ID.String(), UserID: s.actor(r).ID, SHA256: sha, Size: size, Start: start, Bytes: bytes})
	if err != nil {
		return err
	}
	return s.tabletJSON(w, map[string]any{"have": have})
}

func hexSum(s string) bool {
	if len(s) != 64 {
		return false
	}
	for _, c := range s {
		if (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return false
		}
	}
	return true
}

// tabletPhoto ends the way of a picture: its pieces are put together, compared with
// its hash and put on record with the entry that tells what it shows.
func (s *Server) tabletPhoto(w http.ResponseWriter, r *http.Request) error {
	raw, err := io.ReadAll(r.Body)
	if err != nil {
		return asTooLarge(err)
	}
	batch, err := tablet.DecodeBatch(raw)
	if err != nil {
		return err
	}
	if len(batch.Entries) != 1 {
		return fault.New(fault.Malformed, "one photograph is ended at a time, got %d", len(batch.Entries))
	}
	one := batch.Entries[0]
	e, err := tablet.Decode(one)
	if err != nil {
		return err
	}
	if err := s.mayTablet(r, e); err != nil {
		return err
	}
	b, err := e.PhotoOf()
	if err != nil {
		return err
	}
	var picture []byte
	answered, err := s.store.TabletAnswered(r.Context(), e.ID, s.actor(r).ID)
	if err == nil && !answered {
		picture, err = s.store.TabletPicture(r.Context(), s.program(r).ID.String(), s.actor(r).ID, e.ID, b.SHA256)
	}
	if err != nil {
		return err
	}
	reply := s.tabletOne(r, one, batch.Sent, picture)
	if reply.State != tabletLater {
		if err := s.store.DropTabletPieces(r.Context(), e.ID); err != nil {
			return err
		}
	}
	return s.tabletJSON(w, map[string]any{"now": s.now().UTC(), "answers": []tabletReply{reply}})
}

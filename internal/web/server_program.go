package web

import (
	"context"
	"net"

	"github.com/google/uuid"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// findProgram returns the program of an address from the store.
func (s *Server) findProgram(ctx context.Context, key string) (ProgramHead, error) {
	p, err := s.store.Program(ctx, key)
	if err != nil {
		return ProgramHead{}, err
	}
	return headOf(p), nil
}

// listPrograms returns the programs of the given ids, or all for nil.
func (s *Server) listPrograms(ctx context.Context, ids []uuid.UUID) ([]ProgramHead, error) {
	var keys []string
	if ids != nil {
		keys = make([]string, len(ids))
		for i, id := range ids {
			keys[i] = id.String()
		}
	}
	ps, err := s.store.Programs(ctx, keys)
	if err != nil {
		return nil, err
	}
	out := make([]ProgramHead, len(ps))
	for i, p := range ps {
		out[i] = headOf(p)
	}
	return out, nil
}

func headOf(p repair.Program) ProgramHead {
	id, _ := uuid.Parse(p.ID)
	return ProgramHead{ID: id, Code: p.Code, Name: p.Name, Bridge: p.Carries, Units: units.System(p.Units)}
}

func baseContext(ctx context.Context) func(net.Listener) context.Context {
	return func(net.Listener) context.Context { return ctx }
}

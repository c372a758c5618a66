package web

import (
	"context"
	"net"

	"github.com/google/uuid"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// bareProgram takes any id for a program and knows no more of it.
func bareProgram(_ context.Context, key string) (ProgramHead, error) {
	id, err := uuid.Parse(key)
	if err != nil {
		return ProgramHead{}, fault.Wrap(fault.NotFound, err, "there is no program %q", key)
	}
	return ProgramHead{ID: id, Name: "Program", Units: units.US}, nil
}

func bareList(_ context.Context, ids []uuid.UUID) ([]ProgramHead, error) {
	out := make([]ProgramHead, len(ids))
	for i, id := range ids {
		out[i] = ProgramHead{ID: id, Name: "Program", Units: units.US}
	}
	return out, nil
}

func baseContext(ctx context.Context) func(net.Listener) context.Context {
	return func(net.Listener) context.Context { return ctx }
}

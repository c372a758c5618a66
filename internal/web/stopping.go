package web

import (
	"context"
	"errors"
	"net/http"

	"endcast/internal/domain/fault"
)

// ErrStopping is the cause with which the base context of NewHTTPServer ends when the server
// stops.
var ErrStopping = errors.New("the server is stopping")

type streamsKey struct{}

// WithStreams gives the base context of NewHTTPServer another that ends first: answers that
// last for minutes end with it, so that a stop need not wait for them, while short requests
// go on until they are done.
func WithStreams(base, streams context.Context) context.Context {
	return context.WithValue(base, streamsKey{}, streams)
}

// lasting is a handler whose request also ends when the server begins to stop. Whoever asked
// and has no answer yet hears why.
func lasting(h handlerFunc) handlerFunc {
	return func(w http.ResponseWriter, r *http.Request) error {
		streams, ok := r.Context().Value(streamsKey{}).(context.Context)
		if !ok {
			return h(w, r)
		}
		ctx, end := context.WithCancelCause(r.Context())
		defer end(nil)
		defer context.AfterFunc(streams, func() { end(ErrStopping) })()
		err := h(w, r.WithContext(ctx))
		if err != nil && errors.Is(context.Cause(ctx), ErrStopping) {
			return stoppingFault(err)
		}
		return err
	}
}

func stoppingFault(err error) error {
	return fault.Wrap(fault.Unavailable, errors.Join(ErrStopping, err), "the server is stopping: what was sent may not be on record, send it again")
}

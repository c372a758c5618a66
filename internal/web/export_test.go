package web

import "endcast/internal/domain/authz"

// Address is one line of the table of routes, for tests outside the package.
type Address struct {
	Method, Pattern string
	Action          authz.Action
}

// Addresses returns the table of routes. TestEveryRouteIsClassified compares it with
// the router itself.
func (s *Server) Addresses() []Address {
	out := make([]Address, len(s.routes))
	for i, rt := range s.routes {
		out[i] = Address{rt.method, rt.pattern, rt.action}
	}
	return out
}

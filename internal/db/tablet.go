package db

import "context"

// TabletEnds returns every end of a program in the order of the bridge, with what
// a shift is chosen by.
func (st *Store) TabletEnds(ctx context.Context, programID, role string) ([]FieldEnd, error) {
	return st.fieldEnds(ctx, "order by t.sort_key", programID, role)
}

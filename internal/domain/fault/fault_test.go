package fault_test

import (
	"errors"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/fault"
)

func TestKindSurvivesWrapping(t *testing.T) {
	t.Parallel()
	cause := errors.New("row was gone")
	err := fmt.Errorf("load end 2F-3: %w", fault.Wrap(fault.NotFound, cause, "there is no end 2F-3"))
	require.Equal(t, fault.NotFound, fault.KindOf(err))
	require.ErrorIs(t, err, fault.NotFound)
	require.NotErrorIs(t, err, fault.Conflict)
	require.ErrorIs(t, err, cause)
	require.Equal(t, "there is no end 2F-3", fault.Message(err), "the cause is for the log, not for the page")
}

func TestWrapOfNothingIsNothing(t *testing.T) {
	t.Parallel()
	require.NoError(t, fault.Wrap(fault.NotFound, nil, "gone"))
}

func TestUnclassifiedErrorIsInternalAndSaysNothing(t *testing.T) {
	t.Parallel()
	err := errors.New("password=secret")
	require.Equal(t, fault.Internal, fault.KindOf(err))
	require.Empty(t, fault.Message(err))
}

func TestBareKindIsAnError(t *testing.T) {
	t.Parallel()
	require.Equal(t, fault.Forbidden, fault.KindOf(fmt.Errorf("x: %w", fault.Forbidden)))
	require.Equal(t, "unknown", fault.Kind(200).String())
}

func TestInvalidCollectsEveryField(t *testing.T) {
	t.Parallel()
	var v fault.Invalid
	require.NoError(t, v.Err())
	v.Add("depth", "-3 in", "depth must be more than 0, got %s", "-3 in")
	v.Add("name", "", "a name is needed")
	err := fmt.Errorf("save section: %w", v.Err())

	var got *fault.Invalid
	require.ErrorAs(t, err, &got)
	require.Len(t, got.Fields, 2)
	require.Equal(t, "-3 in", got.Of("depth").Typed)
	require.Nil(t, got.Of("web"))
	require.ErrorIs(t, err, fault.Fields)
	require.Equal(t, fault.Fields, fault.KindOf(err))
	require.Contains(t, fault.Message(err), "name: a name is needed")

	var none *fault.Invalid
	require.Nil(t, none.Of("depth"))
	require.NoError(t, none.Err())
}

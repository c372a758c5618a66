package casting

import (
	"endcast/internal/domain/fault"
	"endcast/views/ui"
)

// OpenForm is the page on which a casting is opened.
type OpenForm struct {
	Action, Entry, Paper, Quantities        string
	Bad                                     *fault.Invalid
	Refused, EndsWhy, Zone                  string
	Choices                                 []EndChoice // ID is the name of the end
	Started, Weather, Head, LastBatch, Note ui.Field
	Window                                  ui.Field
}

// BatchForm is the boxes of one batch.
type BatchForm struct {
	Times, Flow, Temps, Masses []ui.Field
	Ends                       []EndChoice
	EndsWhy                    string
	Sets                       []ui.Field
	Refused                    bool
	Why, Note                  ui.Field
}

// Live is the page of a casting whose batches come in.
type Live struct {
	Number, Next, When, Zone, Weather string
	Action, Preview, Show, Entry      string
	Bad                               *fault.Invalid
	Refused                           string
	Ends                              []Link
	Targets                           []MassRow
	Planned, LastBatch, NextBy        string
	Batches                           []Batch
	Form                              BatchForm
	Checks                            Checks
	Finishing                         bool
	Ended, EndNote                    ui.Field
	Volumes                           []ui.Field
	Releases                          []ReleaseMark
}

// BatchView is the page of one batch.
type BatchView struct {
	Number, Pour, Action, Entry, Zone          string
	Bad                                        *fault.Invalid
	Refused, Act                               string
	Row                                        Batch
	MayCorrect, MayRefuse, MayPlace, MayDecide bool
	Form                                       BatchForm
	Reason, RefuseWhy, DecideWhy               ui.Field
	PlaceFrom, PlaceTo                         ui.Field
}

// Package photo shows the photographs of a girder end: as small copies beside a drawing
// with their places, one by one, and as sheets to print.
package photo

import (
	"github.com/a-h/templ"

	"endcast/internal/domain/fault"
	"endcast/views/ui"
)

// Photo is a picture on record. Number is the one on the drawing and in every list.
type Photo struct {
	Number                         string
	Thumb, Href, Src, Original     string // Original is empty where it is sealed to the reader
	Caption, Subject               string
	Face, X, Z                     string // X and Z are empty where it is not pinned
	Taken, Arrived, By             string
	Camera, CameraAt, DeviceAt     string
	SHA, Short, Size, Pixels, Name string
	Width, Height                  int // in pixels; 0 where not known
	Place                          bool
}

func (p Photo) alt() string {
	if p.Caption != "" {
		return "Photograph " + p.Number + ": " + p.Caption
	}
	return "Photograph " + p.Number + ", " + p.Subject + ", " + p.Taken
}

func (p Photo) where() string {
	if p.X == "" {
		return p.Face
	}
	return p.Face + ", x " + p.X + ", z " + p.Z
}

// Album is all pictures of an end, or those of one subject and face.
type Album struct {
	Name, Reading string
	Figure        templ.Component
	Policy        string
	Photos        []Photo
	Total         int
	Subject, Face string
	Subjects      []ui.Option
	Action, Back  string
}

// sheets are the pictures six by six, as they are printed.
func (a Album) sheets() [][]Photo {
	var out [][]Photo
	for i := 0; i < len(a.Photos); i += 6 {
		out = append(out, a.Photos[i:min(i+6, len(a.Photos))])
	}
	return out
}

// Sheet is the page of one picture.
type Sheet struct {
	Photo    Photo
	End      string
	Figure   templ.Component
	Policy   string
	Sealed   bool
	May      bool // say anew where it was taken and what it shows
	Action   string
	Album    string
	Entry    string
	Problem  string
	Bad      *fault.Invalid
	Typed    map[string]string
	Unit     string
	Subjects []ui.Option
}

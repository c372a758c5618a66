package field

import "endcast/views/ui"

// Cleaning is the page of the cleaning of one end.
type Cleaning struct {
	Head     Head
	Standing ui.Mark // of the latest record of every zone against the design basis
	Against  []string
	Warnings []string
	Asked    []Asked
	Records  []CleaningRecord
	Grades   []Grade
	Pictures []Picture
	Form     *CleaningForm // nil for those who only read
}

// Asked is what the design basis asks of a zone.
type Asked struct {
	Zone, Least string
	Must        bool
}

// Grade is a grade of cleaning with what it may leave.
type Grade struct {
	Code, Name, ISO, Remains, Level string
}

// CleaningRecord is one zone as one cleaning left it.
type CleaningRecord struct {
	Zone, Grade, Rust, Profile, Method, When, Air, Note, By string
	Latest                                                  bool
}

// CleaningForm records one cleaning.
type CleaningForm struct {
	Sent
	Action                    string
	Zones                     []ZoneForm
	Method                    ui.Field
	From, To                  ui.Field
	Solvent                   bool
	Steel, Air, Dew, Humidity ui.Field
	Note                      ui.Field
	Photo                     ui.Field
	PhotoHint                 string
	At                        Moment
}

// ZoneForm is the part of the form for one zone.
type ZoneForm struct {
	Title, Asked         string
	Grade, Rust, Profile ui.Field
	Note                 ui.Field
}

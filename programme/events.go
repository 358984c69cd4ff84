package programme

// EventKind says what kind of thing the owner's next mail tells.
type EventKind string

// Kinds of event since the last round. All are trouble but those that Good names.
const (
	ImportRefused EventKind = "import" // a file that was not taken in
	MailRefused   EventKind = "mail"   // a message that a server will not take
	StaleCount    EventKind = "count"  // a count form that was not returned
	StaleRoster   EventKind = "roster" // a roster that is old
	BrokenClient  EventKind = "client" // a programme that could not be mustered
	WearAlarm     EventKind = "wear"   // pieces that wear out faster than others
	OtherTrouble  EventKind = "other"
	FileTaken     EventKind = "taken"    // a file was taken in
	MailAnswered  EventKind = "answered" // what a mail says was carried out
	MailAsked     EventKind = "asked"    // a mail waits for a person
)

// Good reports whether nothing went wrong.
func (k EventKind) Good() bool { return k == FileTaken || k == MailAnswered }

package outbox

import (
	"strings"
	"time"
)

// Way is the way by which a letter leaves the shop.
type Way string

// Ways of a letter.
const (
	Post  Way = "post"  // by the mail server, or into the mail folder of a shop that has none
	Draft Way = "draft" // into the folder of drafts, for a person to look at and send
	Paper Way = "paper" // a file by itself, too large for the mail that names it
)

// Letter is a message as it will be delivered: its final bytes and its
// envelope. Every try, by every transport, hands over these bytes.
type Letter struct {
	ID        int64  // in the outbox; 0 before it is there
	MessageID string // without brackets; a second letter with the same one is not taken
	Name      string // readable, equal for equal causes; it names the letter's file in a folder
	Way       Way    // empty = Post
	Kind      string
	Client    string // code; empty for the owner's
	Proposal  int64  // 0 = none
	Subject   string
	From      string   // bare address
	To        []string // bare addresses; each is a delivery of its own
	Bytes     []byte   // empty when the text was dropped with age
	Created   time.Time
}

// FileName returns the letter's name, or for a letter that has none its
// Message-ID before the @.
func (l *Letter) FileName() string {
	if l.Name != "" {
		return l.Name
	}
	local, _, _ := strings.Cut(l.MessageID, "@")
	return local
}

// Posting is one recipient of one letter and how its delivery stands.
type Posting struct {
	Letter
	Delivery
}

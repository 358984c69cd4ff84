// Package message composes what people receive: what the round decided goes
// in, a subject, a text, a page of HTML and its attachments come out. Nothing
// here reads a clock, a file or a database; the same input gives the same parts.
//
// Text and HTML of a mail are written from one view, so they say the same.
package message

import (
	"path"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
)

// Kind is the purpose of a mail.
type Kind string

// Kinds of mail.
const (
	KindRound    Kind = "round"     // the owner's weekly mail
	KindReorder  Kind = "reorder"   // a reorder to one client, for its manager to forward
	KindCount    Kind = "count"     // the form on which a client counts presentable pieces
	KindDaySheet Kind = "day-sheet" // the sheet on which a week's happenings are written down
	KindSupplier Kind = "supplier"  // an order of blanks or sheets
	KindJob      Kind = "job"       // job ticket and bag tags of an accepted proposal
	KindPick     Kind = "pick"      // pick list and bag tags of pieces off the shelf
	// KindConfirmation tells somebody who answered by mail what was understood.
	KindConfirmation Kind = "confirmation"
)

// Mail is a composed message. Bytes turns it into what a mail server takes.
type Mail struct {
	Kind Kind
	// ID is the name of the message: the readable part of its Message-ID, and the name of its file.
	ID      string
	Subject string
	To      []programme.Contact
	// ReplyTo is the recipient of the answer, where that is not the sender.
	ReplyTo programme.Contact
	// InReplyTo is the Message-ID, without brackets, of the mail that this one
	// answers by itself; empty = it answers none.
	InReplyTo string
	Text      string
	HTML      string
	// Inline are pictures of the HTML, by content ID.
	Inline      []Part
	Attachments []Part
	// Forward is the same message without what its reader alone is told: it is
	// attached, ready to be sent on; nil = none.
	Forward *Mail
	// Draft marks a message that a person opens in their mail program and sends themselves.
	Draft bool
	// Told marks the lines of the owner's mail that are news once, so that the next
	// round leaves out what stays as it is. A mark has nothing of the line's words.
	Told []string
	// Warnings are faults of the message that its sender should know of, such
	// as characters that the PDF's font lacks.
	Warnings []string
}

// Part is a picture or an attachment.
type Part struct {
	Name string // file name
	Type string // media type
	CID  string // content ID without brackets, for inline parts
	Data []byte
}

// Media types of the parts.
const (
	typePNG  = "image/png"
	typeHTML = "text/html"
	typePDF  = "application/pdf"
	typeCSV  = "text/csv"
	typeICS  = "text/calendar"
	typeXLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
)

// named returns the part under a name that is safe on every disk.
func (p Part) named() Part {
	ext := path.Ext(p.Name)
	if len(ext) > 6 || clean.FileName(ext) != strings.TrimPrefix(ext, ".") {
		ext = ""
	}
	p.Name = clean.FileName(strings.TrimSuffix(p.Name, ext)) + ext
	return p
}

// AsDraft returns the message as a draft to be sent by hand, with its own ID: to
// the given people, and those to whom it is to be forwarded.
func (m Mail) AsDraft(to ...programme.Contact) Mail {
	if m.Forward != nil {
		m = *m.Forward
		to = append(to, m.To...)
	}
	m.Draft, m.To, m.ID = true, to, m.ID+".draft"
	m.ReplyTo = programme.Contact{}
	return m
}

package delivery

import (
	"fmt"
	"path"

	"github.com/kitmuster/kitmuster/notify/folder"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme"
)

// smaller returns the letters that take the place of one which was too large for
// a transport that takes most bytes: first its largest parts as papers, then the
// mail to that recipient without them, which names their files. most 0 = it is
// not known, and half of the letter is tried. It returns none where nothing can
// be taken out.
func smaller(l *outbox.Letter, to string, most int) ([]outbox.Letter, error) {
	m, env, err := message.Read(l.Bytes)
	if err != nil {
		return nil, fmt.Errorf("make message %d smaller: %w", l.ID, err)
	}
	if most <= 0 || most >= len(l.Bytes) {
		most = len(l.Bytes) / 2
	}
	small, out := m.Fit(most, func(p message.Part) string { return path.Join("papers", folder.PaperName(p.Name)) })
	if len(out) == 0 {
		return nil, nil
	}
	small.Kind, small.ID, small.To = message.Kind(l.Kind), l.FileName(), []programme.Contact{{Email: to}}
	for _, c := range m.To {
		if c.Email == to {
			small.To[0].Name = c.Name
		}
	}
	mail, err := Seal(small, Envelope{From: env.From, Date: env.Date, Client: l.Client, Proposal: l.Proposal,
		Way: l.Way})
	if err != nil {
		return nil, fmt.Errorf("make message %d smaller: %w", l.ID, err)
	}
	letters := make([]outbox.Letter, 0, len(out)+1)
	for _, p := range out {
		letters = append(letters, outbox.Letter{MessageID: p.Name + "." + mail.MessageID, Name: p.Name,
			Way: outbox.Paper, Kind: l.Kind, Client: l.Client, Proposal: l.Proposal,
			Subject: p.Name, From: l.From, To: mail.To, Bytes: p.Data})
	}
	return append(letters, mail), nil
}

package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// ErrNoProposal says that no proposal has that number.
var ErrNoProposal = errors.New("no such proposal")

const selectProposal = `SELECT p.number, p.state, p.body FROM proposal p JOIN client c ON c.id = p.client_id `

// Proposals returns the proposals of a client (of all when empty), newest
// first; with states given, only those.
func (s *Store) Proposals(ctx context.Context, client string, states ...reorder.State) ([]reorder.Proposal, error) {
	return s.View(ctx).Proposals(client, states...)
}

// Proposals is Store.Proposals as a transaction sees it.
func (v View) Proposals(client string, states ...reorder.State) ([]reorder.Proposal, error) {
	return rowsOf(v, "read proposals", scanProposal, selectProposal+`WHERE (?1 = '' OR c.code = ?1)
		AND (?2 = 'null' OR p.state IN (SELECT value FROM json_each(?2)))
			ORDER BY p.number DESC`, client, inJSON{states})
}

// ProposalHeads returns proposals with what a list says of them and no more: days, price,
// and of each line its numbers. The whole of a hundred proposals takes a tenth of a second to read.
func (s *Store) ProposalHeads(ctx context.Context, client string, states ...reorder.State) ([]reorder.Proposal, error) {
	return rowsOf(s.View(ctx), "read proposals", scanProposal, `SELECT p.number, p.state, json_patch('{}', json_object(
			'client', c.code, 'as_of', p.as_of, 'order_by', p.order_by,
				'arrives', p.body -> '$.arrives', 'until', p.body -> '$.until', 'price', p.body -> '$.price',
			'lines', json((SELECT json_group_array(json_object('order',
				json(coalesce(value -> '$.order', '0')), 'unit_price', json(coalesce(value -> '$.unit_price', '0')),
				'pressed', json(coalesce(value -> '$.pressed', '0')), 'given_up',
					json(coalesce(value -> '$.given_up', '0')))) FROM json_each(p.body, '$.lines')))))
		FROM proposal p JOIN client c ON c.id = p.client_id WHERE (?1 = '' OR c.code = ?1)
		AND p.state IN (SELECT value FROM json_each(?2)) ORDER BY p.number DESC`, client, inJSON{states})
}

// LastOrders returns, by client, the newest proposal of before that day that
// the client said yes to, at most two years old.
func (s *Store) LastOrders(ctx context.Context, asOf programme.Date) (map[string]*reorder.Proposal, error) {
	list, err := rowsOf(s.View(ctx), "read the last orders", scanProposal, `SELECT number, state, body FROM (
		SELECT number, state, body, row_number() OVER (PARTITION BY client_id ORDER BY as_of DESC, number DESC) AS nth
			FROM proposal
		WHERE state IN (SELECT value FROM json_each(?)) AND as_of <= ? AND as_of > ?) WHERE nth = 1 ORDER BY number`,
		inJSON{append(reorder.OnItsWay(), reorder.Received)}, asOf.String(), asOf.Add(-731).String())
	if err != nil {
		return nil, err
	}
	out := make(map[string]*reorder.Proposal, len(list))
	for i := range list {
		out[list[i].Client] = &list[i]
	}
	return out, nil
}

// Proposal returns one proposal, or ErrNoProposal.
func (s *Store) Proposal(ctx context.Context, number int64) (reorder.Proposal, error) {
	return s.View(ctx).Proposal(number)
}

// Proposal returns one proposal, or ErrNoProposal.
func (v View) Proposal(number int64) (reorder.Proposal, error) {
	p, ok, err := rowOf(v, fmt.Sprintf("read proposal %d", number), scanProposal, selectProposal+`WHERE p.number = ?`,
		number)
	if err == nil && !ok {
		err = fmt.Errorf("%w as number %d%w", ErrNoProposal, number,
			hint.Text{Command: "; 'kitmuster proposal list' shows them all"})
	}
	return p, err
}

func scanProposal(row scanner) (p reorder.Proposal, err error) {
	var number int64
	var state reorder.State
	err = row.Scan(&number, &state, inJSON{&p})
	p.Number, p.State = number, state // the body may have others
	return p, err
}

// NoRound is the round of proposals that were made between rounds.
const NoRound = 0

// AddProposal stores a new proposal of a round (or NoRound) under its reserved number.
func (tx *Tx) AddProposal(roundID int64, p *reorder.Proposal) error {
	c, err := tx.Client(p.Client)
	if err != nil {
		return err
	}
	what := fmt.Sprintf("store proposal %d for %s", p.Number, p.Client)
	if roundID == NoRound {
		err := tx.do(what, `INSERT INTO round (id, as_of, at, summary) VALUES (?, ?, ?, '{}')
			ON CONFLICT (id) DO UPDATE SET as_of = excluded.as_of,
				at = excluded.at`, NoRound, p.AsOf.String(), stamp(tx.Now))
		if err != nil {
			return err
		}
	}
	err = tx.do(what, `INSERT INTO proposal (number, client_id, round_id, as_of, state, order_by, body) VALUES (?, ?, ?, ?, ?, ?, '{}')`,
		p.Number, c.ID, roundID, p.AsOf.String(), p.State, p.OrderBy.String())
	if err != nil {
		return err
	}
	if err := tx.PutProposalBody(p); err != nil {
		return err
	}
	if err := tx.keepForm(p); err != nil {
		return err
	}
	return tx.addStep(p.Number, "", p.State, "")
}

// ReviseProposal stores the next form of a proposal; the forms before it are kept.
func (tx *Tx) ReviseProposal(roundID int64, p *reorder.Proposal) error {
	err := tx.do(fmt.Sprintf("revise proposal %d", p.Number),
		`UPDATE proposal SET round_id = ?, as_of = ?, order_by = ? WHERE number = ?`,
		roundID, p.AsOf.String(), p.OrderBy.String(), p.Number)
	if err != nil {
		return err
	}
	if err := tx.PutProposalBody(p); err != nil {
		return err
	}
	return tx.keepForm(p)
}

func (tx *Tx) keepForm(p *reorder.Proposal) error {
	return tx.do(fmt.Sprintf("keep form %d of proposal %d", p.Form(), p.Number),
		`INSERT INTO proposal_form (number, revision, as_of, body) SELECT number, ?2, ?3, body FROM proposal WHERE number = ?1`, p.Number, p.Form(), p.AsOf.String())
}

// Form returns a proposal as it went out in its n-th form, from 1.
func (v View) Form(number int64, n int) (reorder.Proposal, error) {
	p, ok, err := rowOf(v, fmt.Sprintf("read proposal %d", number), scanProposal,
		`SELECT number, 'drafted', body FROM proposal_form WHERE number = ? AND revision = ?`, number, n)
	if err == nil && !ok {
		err = fmt.Errorf("proposal %d has no form %d", number, n)
	}
	return p, err
}

// RoundOf returns the round that a proposal was written by last.
func (v View) RoundOf(number int64) (id int64, err error) {
	return valueOf[int64](v, fmt.Sprintf("read proposal %d", number), `SELECT round_id FROM proposal WHERE number = ?`,
		number)
}

// PutProposalBody stores changed contents of a proposal; its state changes through MoveProposal alone.
func (tx *Tx) PutProposalBody(p *reorder.Proposal) error {
	return tx.do(fmt.Sprintf("store proposal %d", p.Number), `UPDATE proposal SET body = ? WHERE number = ?`,
		inJSON{p}, p.Number)
}

// MoveProposal records that a proposal went from one state to another. The
// caller has asked reorder whether the step is allowed; that the proposal still
// stands in from is checked here, so two hands cannot both move it.
func (tx *Tx) MoveProposal(number int64, from, to reorder.State, note string) error {
	n, err := tx.change(fmt.Sprintf("move proposal %d", number),
		`UPDATE proposal SET state = ? WHERE number = ? AND state = ?`, to, number, from)
	if err != nil {
		return err
	}
	if n != 1 {
		return fmt.Errorf("proposal %d is no longer %s; look again%w", number, from,
			hint.Text{Command: fmt.Sprintf(" with 'kitmuster proposal show %d'", number)})
	}
	return tx.addStep(number, from, to, note)
}

// RestoreProposal makes a proposal again what it was, which its history tells.
func (tx *Tx) RestoreProposal(number int64, state reorder.State, body []byte, why string) error {
	p, err := tx.Proposal(number)
	if err != nil {
		return err
	}
	if err := tx.do(fmt.Sprintf("restore proposal %d", number),
		`UPDATE proposal SET state = ?, body = ? WHERE number = ?`, state, string(body), number); err != nil {
		return err
	}
	return tx.addStep(number, p.State, state, why)
}

// RemoveProposal takes back a proposal that an entry made; its number is not
// given out again.
func (tx *Tx) RemoveProposal(number int64) error {
	if err := tx.UnlinkSheets(number); err != nil {
		return err
	}
	what := fmt.Sprintf("take back proposal %d", number)
	for _, table := range []string{"sheet_order_proposal", "proposal_form", "proposal_step", "proposal"} {
		if err := tx.do(what, `DELETE FROM `+table+` WHERE number = ?`, number); err != nil {
			return err
		}
	}
	return tx.do(what, `DELETE FROM round WHERE id = ? AND NOT EXISTS (SELECT 1 FROM proposal WHERE round_id = round.id)
		AND NOT EXISTS (SELECT 1 FROM sheet_order WHERE round_id = round.id)`, NoRound)
}

func (tx *Tx) addStep(number int64, from, to reorder.State, note string) error {
	return tx.do(fmt.Sprintf("record step of proposal %d", number),
		`INSERT INTO proposal_step (number, seq, at, from_state, to_state, note)
		VALUES (?1, (SELECT coalesce(max(seq), 0) + 1 FROM proposal_step
			WHERE number = ?1), ?2, ?3, ?4, ?5)`, number, stamp(tx.Now), from, to, note)
}

// Step is one change of state of a proposal.
type Step struct {
	At       time.Time
	From, To reorder.State
	Note     string
}

// Steps returns the history of a proposal, oldest first.
func (s *Store) Steps(ctx context.Context, number int64) ([]Step, error) {
	return rowsOf(s.View(ctx), fmt.Sprintf("read history of proposal %d", number),
		func(row scanner) (st Step, err error) {
			err = row.Scan(instant{&st.At}, &st.From, &st.To, &st.Note)
			return st, err
		}, `SELECT at, from_state, to_state, note FROM proposal_step WHERE number = ? ORDER BY seq`, number)
}

package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
)

const selectPeople = `SELECT p.staff_id, p.name, p.role, p.site, p.started, p.ended, p.sizes, p.outgrown, p.spells, p.print_name
	FROM person p JOIN client c ON c.id = p.client_id WHERE c.code = ? ORDER BY p.staff_id`

// People returns a client's roster, leavers included, ordered by staff number.
func (s *Store) People(ctx context.Context, client string) ([]programme.Person, error) {
	return s.View(ctx).People(client)
}

// People is Store.People as a transaction sees it.
func (v View) People(client string) ([]programme.Person, error) {
	row := personRow{words: interner{}, sizes: map[string]map[string]string{}}
	return rowsOf(v, "read roster of "+client, row.scan, selectPeople, client)
}

// personRow holds the row of a roster that is scanned. People of the same sizes share
// one map of them, which nobody writes into (see [programme.Person.Resize]): a large
// shop keeps a hundred thousand people while a round is worked out.
type personRow struct {
	words interner
	sizes map[string]map[string]string

	role, site, sized rawText
}

func (r *personRow) scan(row scanner) (p programme.Person, err error) {
	var outgrown, spells string
	err = row.Scan(&p.StaffID, &p.Name, &r.role, &r.site, day{&p.Start}, day{&p.End}, &r.sized, &outgrown, &spells,
		&p.PrintName)
	if err != nil {
		return p, err
	}
	p.Role, p.Site = r.words.text(r.role), r.words.text(r.site)
	known := false
	if p.Sizes, known = r.sizes[string(r.sized)]; !known {
		if err := json.Unmarshal(r.sized, &p.Sizes); err != nil {
			return p, err
		}
		r.sizes[string(r.sized)] = p.Sizes
	}
	if outgrown != "{}" { // most people have neither, and a large roster is read often
		err = json.Unmarshal([]byte(outgrown), &p.Outgrown)
	}
	if spells != "[]" {
		err = errors.Join(err, json.Unmarshal([]byte(spells), &p.Spells))
	}
	return p, err
}

// PutPeople stores persons of a client, new or changed.
func (tx *Tx) PutPeople(client string, list []programme.Person) error {
	c, err := tx.Client(client)
	if err != nil {
		return err
	}
	put, err := tx.PrepareContext(tx.ctx,
		`INSERT INTO person (client_id, staff_id, name, role, site, started, ended, sizes, end_entered_at, outgrown, spells, print_name)
		VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, iif(?7 IS NULL, NULL, ?9), ?10, ?11, ?12)
		ON CONFLICT (client_id, staff_id) DO UPDATE SET name = excluded.name,
			role = excluded.role, site = excluded.site,
			started = excluded.started, ended = excluded.ended, sizes = excluded.sizes, forgotten = 0,
			outgrown = excluded.outgrown, spells = excluded.spells, print_name = excluded.print_name,
			end_entered_at = iif(ended IS excluded.ended, end_entered_at, excluded.end_entered_at)`)
	if err != nil {
		return fmt.Errorf("store roster of %s: %w", client, err)
	}
	defer func() { _ = put.Close() }()
	for i := range list {
		p := &list[i]
		_, err := put.ExecContext(tx.ctx, c.ID, p.StaffID, p.Name, p.Role, p.Site, p.Start.String(), dateOrNull(p.End),
			jsonOr("{}", len(p.Sizes), p.Sizes), stamp(tx.Now), jsonOr("{}", len(p.Outgrown), p.Outgrown),
			jsonOr("[]", len(p.Spells), p.Spells), p.PrintName)
		if err != nil {
			return fmt.Errorf("store %s of %s: %w", p.StaffID, client, err)
		}
	}
	return nil
}

// jsonOr writes v, of n entries, as JSON, or as empty where there are none.
func jsonOr(empty string, n int, v any) any {
	if n == 0 {
		return empty
	}
	return inJSON{v}
}

// RemovePerson takes a person out of a roster, as if never entered.
func (tx *Tx) RemovePerson(client, staffID string) error {
	c, err := tx.Client(client)
	if err != nil {
		return err
	}
	return tx.do(fmt.Sprintf("take %s out of the roster of %s", staffID, client),
		`DELETE FROM person WHERE client_id = ? AND staff_id = ?`, c.ID, staffID)
}

// Found is a person with the client whose roster has them.
type Found struct {
	Client string
	programme.Person
}

// FindPeople returns up to most people of all clients who have every one of the words in
// their name or number, those who are there first. Case and the marks of letters do not
// matter: SQLite itself knows only those of English.
func (s *Store) FindPeople(ctx context.Context, words string, most int) (found []Found, err error) {
	rows, err := s.reader.QueryContext(ctx,
		`SELECT c.code, p.staff_id, p.name, p.role, p.started, p.ended FROM person p JOIN client c ON c.id = p.client_id
		ORDER BY p.ended IS NOT NULL, p.name, p.staff_id`)
	if err != nil {
		return nil, fmt.Errorf("look for a person: %w", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	wanted := strings.Fields(match.Bare(words))
	for len(found) < most && rows.Next() {
		f, err := scanFound(rows)
		if err != nil {
			return nil, fmt.Errorf("look for a person: %w", err)
		}
		there := match.Bare(f.Name + " " + f.StaffID)
		if !slices.ContainsFunc(wanted, func(w string) bool { return !strings.Contains(there, w) }) {
			found = append(found, f)
		}
	}
	return found, rows.Err()
}

func scanFound(row scanner) (f Found, err error) {
	err = row.Scan(&f.Client, &f.StaffID, &f.Name, &f.Role, day{&f.Start}, day{&f.End})
	return f, err
}

// Starters returns up to most people of all clients who start between two days and of
// whom the ledger has nothing, those who start first.
func (s *Store) Starters(ctx context.Context, from, until programme.Date, most int) ([]Found, error) {
	return rowsOf(s.View(ctx), "look for people who start", scanFound,
		`SELECT c.code, p.staff_id, p.name, p.role, p.started, p.ended FROM person p JOIN client c ON c.id = p.client_id
		WHERE p.started BETWEEN ?1 AND ?2 AND p.ended IS NULL
		AND NOT EXISTS (SELECT 1 FROM movement m WHERE m.client_id = p.client_id AND m.staff_id = p.staff_id)
		ORDER BY p.started, p.name LIMIT ?3`, from.String(), until.String(), most)
}

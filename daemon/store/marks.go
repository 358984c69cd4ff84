package store

import "context"

// Marks tell whether anything changed of what a round reads, by client; shelf
// and goods that belong to no client are under the empty code. Two marks are
// equal when nothing did.
type Marks map[string]Mark

// Mark is the state of one client's records.
type Mark struct {
	// Agreed changes with the applied programme and with every step of a proposal.
	Agreed string
	// Entered changes with every hand-over, entry by hand, and undo.
	Entered string
}

// Marks returns how everything stands that a round reads.
func (s *Store) Marks(ctx context.Context) (Marks, error) { return s.View(ctx).Marks() }

// Marks is Store.Marks as a transaction sees it. An undo removes the newest import and the
// next one takes its number, so the moment counts as well.
func (v View) Marks() (Marks, error) {
	all := Marks{}
	_, err := rowsOf(v, "look for changes", func(row scanner) (none struct{}, err error) {
		var code string
		var m Mark
		err = row.Scan(&code, &m.Agreed, &m.Entered)
		all[code] = m
		return none, err
	}, `SELECT c.code, c.applied_at || ' ' || coalesce(p.steps, 0), coalesce(i.mark, '')
		FROM client c
		LEFT JOIN (SELECT p.client_id AS client, count(*) AS steps
			FROM proposal p JOIN proposal_step s ON s.number = p.number GROUP BY p.client_id) p ON p.client = c.id
		LEFT JOIN (SELECT client_id AS client, count(*) || ' ' || max(id) || ' ' || max(at) AS mark FROM import
			GROUP BY client_id) i ON i.client = c.id
		UNION ALL SELECT '', '', count(*) || ' ' || coalesce(max(id), 0) || ' ' || coalesce(max(at), '') FROM import
			WHERE client_id IS NULL`)
	return all, err
}

// Changed returns the code of a client whose records stand otherwise than they
// did in before, and ok = true; only looks at the named clients (all when none
// is named) and at what belongs to nobody. agreedAlone passes entries over.
func (m Marks) Changed(before Marks, agreedAlone bool, only ...string) (code string, ok bool) {
	if len(only) == 0 {
		for code := range before {
			only = append(only, code)
		}
		for code := range m {
			only = append(only, code)
		}
	}
	for _, code := range append([]string{""}, only...) {
		a, had := before[code]
		b, has := m[code]
		if had != has || a.Agreed != b.Agreed || !agreedAlone && a.Entered != b.Entered {
			return code, true
		}
	}
	return "", false
}

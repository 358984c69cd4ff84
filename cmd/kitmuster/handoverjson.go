package main

import (
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/roster"
)

// handoverResult is the JSON shape of an import, format 1.
type handoverResult struct {
	Format    int           `json:"format"`
	Kind      string        `json:"kind"`
	Client    string        `json:"client,omitempty"`
	File      string        `json:"file"`
	DryRun    bool          `json:"dry_run"`
	Stored    bool          `json:"stored"`
	New       int           `json:"new"`
	Known     int           `json:"known"`
	Notes     []string      `json:"notes"`
	Roster    *rosterResult `json:"roster,omitempty"`
	Unplaced  int           `json:"pieces_not_placed,omitempty"`
	NotTaken  []rowResult   `json:"not_taken"`
	MendFile  string        `json:"mend_file,omitempty"`
	NeedsAYes bool          `json:"needs_yes"`
}

type rowResult struct {
	Line   int    `json:"line"`
	Column string `json:"column"`
	Value  string `json:"value"`
	Want   string `json:"want"`
}

type rosterResult struct {
	Joined    []personResult `json:"joined"`
	Left      []personResult `json:"left"`
	Back      []personResult `json:"back"`
	Role      []personResult `json:"role"`
	Site      []personResult `json:"site"`
	Size      []personResult `json:"size"`
	Corrected []personResult `json:"corrected"`
	Unchanged int            `json:"unchanged"`
	Absent    []personResult `json:"absent"`
	Unsized   []unsized      `json:"without_size"`
}

// unsized is somebody without a size of each of these families; of one of several where they
// are cuts of one thing.
type unsized struct {
	StaffID  string     `json:"staff_id"`
	Name     string     `json:"name"`
	Families [][]string `json:"families"`
}

// personResult is a person in JSON.
type personResult struct {
	StaffID string            `json:"staff_id"`
	Name    string            `json:"name"`
	Role    string            `json:"role"`
	Site    string            `json:"site"`
	Start   programme.Date    `json:"start_date"`
	End     programme.Date    `json:"end_date"`
	Sizes   map[string]string `json:"sizes"`
}

func reportJSON(r *handover.Report, opt handover.Options, mend string) handoverResult {
	out := handoverResult{Format: 1, Kind: r.Kind, Client: r.Client, File: r.File, DryRun: opt.DryRun, Stored: r.Stored,
		New: r.New, Known: r.Known,
		Notes: append([]string{}, r.Notes...), NotTaken: []rowResult{}, MendFile: mend}
	for _, e := range r.Bad {
		out.NotTaken = append(out.NotTaken, rowResult{e.Line, e.Column, e.Value, e.Want})
	}
	for _, u := range r.Unplaced {
		out.Unplaced += u.Pieces
	}
	if d := r.Diff; d != nil {
		out.NeedsAYes = r.NeedsYes()
		out.Roster = &rosterResult{Joined: persons(d.Joined), Left: afters(d.Left), Back: afters(d.Back),
			Role: afters(d.Role), Site: afters(d.Site),
			Size: afters(d.Size), Corrected: afters(d.Other), Unchanged: d.Unchanged, Absent: persons(d.Absent),
			Unsized: make([]unsized, len(r.Unsized))}
		for i, x := range r.Unsized {
			out.Roster.Unsized[i] = unsized{x.Person.StaffID, x.Person.Name, x.Families}
		}
	}
	return out
}

func persons(list []programme.Person) []personResult {
	out := make([]personResult, len(list))
	for i, p := range list {
		out[i] = personResult{p.StaffID, p.Name, p.Role, p.Site, p.Start, p.End, p.Sizes}
	}
	return out
}

func afters(list []roster.Change) []personResult {
	people := make([]programme.Person, len(list))
	for i := range list {
		people[i] = list[i].After
	}
	return persons(people)
}

// Package kitchange tells what a change of a kit means for the people who wear it
// and for what lies on the shelf: what another programme makes people owed, how far a
// line has taken the place of another, and whom it concerns that a supplier has no
// more of something.
package kitchange

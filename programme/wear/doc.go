// Package wear tells how long pieces last: washes from records and rotation,
// causes of ending, and what the records teach about them.
package wear

// Package table reads the lists that people hand over as they have them:
// comma, semicolon, tab or bar between the cells; UTF-8, UTF-16 or
// Windows-1252; workbooks; titles above the heading and totals below the rows.
//
// It finds the heading, gives back rows with the line they stand on, and says
// of everything that it does not understand where it stands, what was read and
// what would be right. It never settles a doubt in silence: a heading that
// merely resembles one of ours is asked about, and so are dates that can be
// read in two ways (with dots, 10.03.2026, the day comes first).
package table

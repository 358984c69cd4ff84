// Package laboratory asks how the forecast fares where records are not as it
// assumes. It invents clients that live by the formulas of wear and demand,
// keeps their records as shops do in a stated world (endings never written down,
// entered late, people who differ, seasons, bursts of starters), forecasts from
// these records alone, and compares the forecast with what then came.
//
// Nothing of the generator is shared with the forecast: washes, lives, rosters
// and ledgers are worked out here day by day.
package laboratory

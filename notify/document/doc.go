// Package document makes the papers that go with a mail: order form, job
// ticket, bag tags, count form, lists and calendar entries. Values go in, bytes
// come out; the same values give the same bytes.
package document

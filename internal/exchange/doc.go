// Package exchange takes trials in from other people's tables and gives them out:
// CSV, and XLSX workbooks.
//
// # Tables
//
// A trial is some tables: trial, classes, entries, wishes, tests, courses, timetable,
// rests, starts, one table of sheets for each phase, teams and series. A workbook has
// a worksheet for each that is not empty; a CSV file holds one table. The first row
// names the columns; their order is free, and so are capitals, blanks and underscores
// in the names. What is in a cell is what stands in a trial/1 file, lists with
// semicolons between. Families of columns have a word in front:
//
//	mark 1, mark 2, …       of a dressage sheet
//	fault groom_down        how often
//	part performance        of a judged sheet
//
// [Tables] reads a trial's tables out of it, [Assemble] makes a trial of tables
// again, and what comes back is the same trial.
//
// # Bad input
//
// A row that cannot be right is left out, with a fault that names file, cell or line,
// and what would be right; all other rows are taken. Whoever calls decides whether
// that is good enough. What is read is bounded: a file by its size, a workbook also by
// what it unpacks to, a table by rows and columns.
//
// # Text that a spreadsheet would run
//
// A cell that begins with =, +, - or @ (or a tab or carriage return) may be taken for
// a formula by whoever opens a CSV file (OWASP, "CSV Injection"). Such a text is
// written with an apostrophe in front, which spreadsheets take as the sign of a text,
// and which is taken off again on the way in. In a workbook every text is stored as a
// text and needs none.
package exchange

package grammar

import "strings"

// Key is the spelling names are compared by: lower case, blanks folded to one.
func Key(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), " ")) }

// Nearest is the known word closest to the one given, or "" where none is near enough to be meant: at most a third of
// its letters may differ.
func Nearest(word string, known []string) string {
	best, least := "", (len([]rune(word))+2)/3+1
	for _, k := range known {
		if n := editDistance([]rune(word), []rune(k), least); n < least {
			best, least = k, n
		}
	}
	return best
}

// editDistance is the number of letters to change, add, drop or swap with their neighbour to get from a to b, or limit
// where it is at least that.
func editDistance(a, b []rune, limit int) int {
	if len(a)-len(b) >= limit || len(b)-len(a) >= limit {
		return limit
	}
	before, row := make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	var two []int
	for i := 1; i <= len(a); i++ {
		two, before, row = before, row, make([]int, len(b)+1)
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(before[j]+1, row[j-1]+1, before[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], two[j-2]+1)
			}
		}
	}
	return min(row[len(b)], limit)
}

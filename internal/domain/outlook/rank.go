package outlook

// Rank puts ends in the order in which to repair them.
func Rank(ends []Standing) []Ranked {
	out := make([]Ranked, len(ends))
	for i, e := range ends {
		out[i] = Ranked{Standing: e, Place: i + 1}
	}
	return out
}

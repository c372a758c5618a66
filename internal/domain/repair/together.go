package repair

// Common splits what several revisions stand on into what all of them share and what
// differs between them. Each row of the second has one fact an end, in the order given,
// nil where an end has none.
func Common(stands [][]StandFact) (shared []StandFact, differ [][]*StandFact) {
	seen := map[string]bool{}
	for _, list := range stands {
		for _, f := range list {
			if seen[f.Key] {
				continue
			}
			seen[f.Key] = true
			row := make([]*StandFact, len(stands))
			same := true
			for i := range stands {
				row[i] = fact(stands[i], f.Key)
				same = same && row[i] != nil && row[i].Sum == row[0].Sum
			}
			if same {
				shared = append(shared, f)
			} else {
				differ = append(differ, row)
			}
		}
	}
	return shared, differ
}

package forecast

import "fmt"

// Assumptions are the limits that are printed under every forecast.
func Assumptions() []string {
	return []string{
		"The windows to come are taken to yield what past planned windows yielded, lost ones as none; each independently of the one before.",
		"Crews, forms and the effort of a step are taken to stay as they were; a what-if multiplies them evenly.",
		"The first windows of a season are often poor while a crew learns. Leave one out only with a written reason: with few windows a single one moves the date.",
		"Curing to the last test and closing follow the last step as a fixed time; a failed test or a new finding is not foreseen.",
	}
}

// Caution is the sentence for a result that rests on few windows; empty where the sample is long enough.
func (r KindResult) Caution() string {
	if r.Remaining == 0 || !r.Thin || r.Endless != "" {
		return ""
	}
	return fmt.Sprintf("This rests on %d past windows; about %d are the least to lean on.", len(r.Sample), r.Least)
}

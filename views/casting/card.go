package casting

// semicolon parts the sentences of a list, none after the last.
func semicolon(i, n int) string {
	if i < n-1 {
		return "; "
	}
	return ""
}

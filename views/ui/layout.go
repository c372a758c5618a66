package ui

func colorScheme(theme string) string {
	if theme == "" {
		return "light dark"
	}
	return theme
}

func tabTitle(p Page) string {
	t := p.Title
	if p.Program != nil {
		t += " – " + p.Program.Name
	}
	return t + " – Endcast"
}

// blockOf returns the title block of a page: its own, or a plain one.
func blockOf(p Page) TitleBlock {
	if p.Block != nil {
		return *p.Block
	}
	var b TitleBlock
	if p.Program != nil {
		b.Cells = append(b.Cells, Cell{Label: "Program", Value: p.Program.Name, Wide: true})
		if p.Program.Bridge != "" {
			b.Cells = append(b.Cells, Cell{Label: "Bridge", Value: p.Program.Bridge, Wide: true})
		}
	}
	b.Cells = append(b.Cells, Cell{Label: "Sheet", Value: p.Title, Wide: true})
	if p.Person != nil {
		b.Cells = append(b.Cells, Cell{Label: "Read by", Value: p.Person.Name})
	}
	if p.Release != "" {
		b.Cells = append(b.Cells, Cell{Label: "Release", Value: p.Release})
	}
	return b
}

func flashRole(k FlashKind) string {
	if k == Failed {
		return "alert"
	}
	return "status"
}

func flashMark(k FlashKind) Mark {
	switch k {
	case Done:
		return Mark{State: Good}
	case Failed:
		return Mark{State: Stop}
	}
	return Mark{State: Caution}
}

// markBaseline sets the letter lower in a triangle, whose middle lies low.
func markBaseline(s State) string {
	if s == Caution {
		return "16"
	}
	return "14"
}

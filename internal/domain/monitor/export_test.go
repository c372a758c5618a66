package monitor

import "endcast/internal/domain/basis"

func testParams() Params { return ParamsOf(basis.Basis{}) }

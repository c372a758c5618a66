package basis

// Settings of the files that data loggers write. They guard against files that
// cannot be what they are said to be; none is a requirement of a standard.

const groupLogger = "Logger files"

// Limits of a file and of the temperatures in it.
var (
	LoggerFileSize = Define(Definition{Key: "logger.file_mb", Group: groupLogger, Name: "size of a logger file, at most, in millions of bytes",
		Unit: Number, Default: 50, Min: 1, Max: 500, Source: "project setting", Tag: Proposal})
	LoggerUnpacked = Define(Definition{Key: "logger.unpacked_mb", Group: groupLogger, Name: "size of what a packed logger file holds, at most, in millions of bytes",
		Unit: Number, Default: 400, Min: 1, Max: 4000, Source: "project setting", Tag: Proposal})
	LoggerColdest = Define(Definition{Key: "logger.coldest", Group: groupLogger, Name: "temperature below which a reading is taken for a fault of the sensor",
		Unit: Temperature, Default: -40, Min: -40, Max: 10, Source: "a guard against broken sensors and wrong columns", Tag: Proposal})
	LoggerHottest = Define(Definition{Key: "logger.hottest", Group: groupLogger, Name: "temperature above which a reading is taken for a fault of the sensor",
		Unit: Temperature, Default: 120, Min: 40, Max: 120, Source: "a guard against broken sensors and wrong columns", Tag: Proposal})
	LoggerStuck = Define(Definition{Key: "logger.stuck", Group: groupLogger, Name: "time for which one unchanged reading is let pass unlisted",
		Unit: Hours, Default: 12, Min: 1, Max: 240, Source: "project setting", Tag: Proposal})
)

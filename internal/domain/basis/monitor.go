package basis

const (
	groupPassage = "Strain records: passages"
	groupScreen  = "Strain records: what is wrong with a stream"
	groupEngaged = "Strain records: verdict"
)

func monitorSetting(key Key, group, name string, unit Unit, def, low, high float64, tag Tag, source string) Key {
	return Define(Definition{Key: key, Group: group, Name: name, Unit: unit, Default: def, Min: low, Max: high, Source: source, Tag: tag})
}

const proven = "proven on records with known trucks at 100 samples a second; no published value found"

// How passages of trucks are found on a record. Times in seconds, strains in
// microstrain.
var (
	MonitorBlock = monitorSetting("monitor.block", groupPassage, "length of a block whose median stands for the unloaded gauge, s", Number,
		1, 0.2, 60, Proposal, proven)
	MonitorWindow = monitorSetting("monitor.window", groupPassage, "blocks of the running median of the baseline", Number,
		61, 3, 601, Proposal, proven)
	MonitorSmooth = monitorSetting("monitor.smooth", groupPassage, "length of the centered mean that a peak is read from, s", Number,
		0.05, 0, 1, Proposal, "takes 2 to 4 percent off a sharp axle peak, before and after alike")
	MonitorOnSigma = monitorSetting("monitor.on_sigma", groupPassage, "a passage begins above so many standard deviations of the noise", Number,
		8, 3, 50, Proposal, proven)
	MonitorOnLeast = monitorSetting("monitor.on_least", groupPassage, "a passage begins above at least, microstrain", Number,
		5, 0.1, 500, Proposal, proven)
	MonitorOffSigma = monitorSetting("monitor.off_sigma", groupPassage, "a passage ends below so many standard deviations of the noise", Number,
		3, 1, 50, Proposal, proven)
	MonitorOffLeast = monitorSetting("monitor.off_least", groupPassage, "a passage ends below at least, microstrain", Number,
		2, 0.1, 500, Proposal, proven)
	MonitorMerge = monitorSetting("monitor.merge", groupPassage, "least time between two passages, s", Number,
		0.75, 0, 10, Proposal, proven)
	MonitorShortest = monitorSetting("monitor.shortest", groupPassage, "shortest passage, s", Number,
		0.05, 0, 2, Proposal, proven)
	MonitorLongest = monitorSetting("monitor.longest", groupPassage, "longest passage, s; what is longer is a stopped vehicle or drift", Number,
		15, 1, 120, Proposal, proven)
	MonitorOccupancy = monitorSetting("monitor.occupancy", groupPassage, "most loaded time in a stretch, above which it is refused", Number,
		0.30, 0.05, 0.5, Proposal, "the baseline sinks by 0.6, 1.1 and 2.0 microstrain at 17, 25 and 35 percent of loaded time on records with known trucks")
	MonitorStretch = monitorSetting("monitor.stretch", groupPassage, "stretch over which loaded time is counted, s", Number,
		600, 60, 3600, Proposal, "several times the window of the baseline")
	MonitorBridge = monitorSetting("monitor.bridge", groupPassage, "longest gap that is filled by a straight line, s", Number,
		0.1, 0, 1, Proposal, proven)
	MonitorRestart = monitorSetting("monitor.restart", groupPassage, "gap after which the baseline begins anew, s", Number,
		10, 1, 600, Proposal, "shorter gaps leave most blocks of the window in place")
	MonitorCoincide = monitorSetting("monitor.coincide", groupPassage, "most time between the peaks of two gauges at one end, s", Number,
		0.5, 0.01, 5, Proposal, proven)
	MonitorControlBefore = monitorSetting("monitor.control_before", groupPassage, "the control gauge may peak before the web by, s", Number,
		0.5, 0, 10, Proposal, "trucks that leave the span over this end")
	MonitorControlAfter = monitorSetting("monitor.control_after", groupPassage, "the control gauge may peak after the web by, s", Number,
		2.5, 0, 10, Proposal, "half a span of 80 ft takes 0.45 s at 60 mph, and a truck has length; longer spans and slower traffic need more")
	MonitorReach = monitorSetting("monitor.reach", groupPassage, "the panel is read so close to the peak of the web, s", Number,
		0.2, 0, 2, Proposal, proven)
	MonitorSlipReach = monitorSetting("monitor.slip_reach", groupPassage, "slip is averaged so close to the peak of the web, s", Number,
		0.1, 0, 2, Proposal, proven)
	MonitorSlipFrom = monitorSetting("monitor.slip_from", groupPassage, "slip at rest is taken from so long before a passage, s", Number,
		2, 0.1, 20, Proposal, proven)
	MonitorSlipTo = monitorSetting("monitor.slip_to", groupPassage, "slip at rest is taken up to so long before a passage, s", Number,
		0.2, 0, 10, Proposal, proven)
)

// What is listed as wrong with a stream.
var (
	ScreenJitter = monitorSetting("screen.jitter", groupScreen, "most that a time stamp may lie off its even place, part of the sampling interval", Number,
		0.25, 0.01, 0.5, Proposal, "no published value found")
	ScreenGap = monitorSetting("screen.gap", groupScreen, "a gap is more than so many sampling intervals", Number,
		1.5, 1.1, 10, Proposal, proven)
	ScreenStuckFast = monitorSetting("screen.stuck_fast", groupScreen, "a gauge that repeats one value so long is stuck, s", Number,
		10, 0.1, 3600, Proposal, "noise of 0.2 microstrain or more moves the last figure of a live gauge at every sample")
	ScreenStuckSlow = monitorSetting("screen.stuck_slow", groupScreen, "a thermometer or strength sensor that repeats one value so long is stuck, h", Number,
		24, 1, 240, Proposal, "air over water moves by more than a tenth of a degree in a day")
	ScreenClipped = monitorSetting("screen.clipped", groupScreen, "samples in a row at the end of the range that count as saturated", Number,
		3, 2, 1000, Proposal, "no published value found")
	ScreenRate = monitorSetting("screen.rate", groupScreen, "fewest samples a second for passages of trucks", Number,
		50, 1, 1000, Proposal, "peaks of an 80 ft span at 60 mph lose 2.7 percent at 20, 1.1 at 50, 0.5 at 100 samples a second")
	GaugeSpan = monitorSetting("gauge.span", groupScreen, "most that a shunt check may differ from what it should read", Number,
		0.02, 0.001, 0.2, Proposal, "no published value found")
	ControlApart = monitorSetting("gauge.control_apart", groupScreen, "least distance of a control gauge from the bearing line on the repaired end", Length,
		3000, 500, 100_000, Proposal, "beyond any panel, where the repair does not change what a truck does to the girder; midspan is best")
)

// What a verdict asks for.
var (
	EngagedRatio = monitorSetting("engaged.ratio", groupEngaged, "engaged: the upper end of the ratio after over before lies below", Number,
		0.90, 0.5, 1, Proposal, "no published acceptance value found")
	EngagedCoincidence = monitorSetting("engaged.coincidence", groupEngaged, "engaged: least part of the passages on the web that the panel or a stud shows too", Number,
		0.90, 0.5, 1, Proposal, "no published acceptance value found")
	EngagedShare = monitorSetting("engaged.share", groupEngaged, "engaged: the lower end of the load share is at least so much of the share designed for", Number,
		0.5, 0.1, 1, Proposal, "no published acceptance value found")
	EngagedEvents = monitorSetting("engaged.events", groupEngaged, "fewest passages with a control in each state", Number,
		200, 20, 100_000, Proposal, "the raw median is known to 11 percent from 200 passages, weights being lognormal with 0.45")
	EngagedDays = monitorSetting("engaged.days", groupEngaged, "fewest days with passages in each state", Number,
		7, 0, 365, Proposal, "workdays and a weekend")
	EngagedBlocks = monitorSetting("engaged.blocks", groupEngaged, "fewest days or hours that an interval is drawn from", Number,
		6, 2, 100, Proposal, "an interval from fewer blocks is too narrow to trust")
	EngagedDayBlocks = monitorSetting("engaged.day_blocks", groupEngaged, "whole days are drawn from so many days on, hours below", Number,
		10, 2, 100, Proposal, "passages of one day are alike; with fewer days there are too few of them to draw from")
	EngagedResamples = monitorSetting("engaged.resamples", groupEngaged, "resamples of an interval", Number,
		2000, 200, 20_000, Proposal, "ends of the interval move by less than 0.003 from seed to seed")
	EngagedTail = monitorSetting("engaged.tail_events", groupEngaged, "fewest passages in each state for a word on the largest", Number,
		1000, 100, 100_000, Proposal, "the raw 95th percentile is known to 8 percent from 1000 passages, weights being lognormal with 0.45")
	EngagedMost = monitorSetting("engaged.most_more", groupEngaged, "when so many more passages would not settle it, the repair is not shown to work", Number,
		5000, 100, 1_000_000, Proposal, "about a month of recording on a quiet road")
	EngagedLater = monitorSetting("engaged.later_days", groupEngaged, "age of the panel from which a record counts as later", Days,
		28, 1, 365, Common, "the age that concrete is usually judged at")
	EngagedTrend = monitorSetting("engaged.trend", groupEngaged, "most rise of the ratio in a month after the repair", Number,
		0.05, 0.005, 0.5, Proposal, "no published acceptance value found")
	EngagedTrendWeeks = monitorSetting("engaged.trend_weeks", groupEngaged, "fewest weeks that tell a trend", Number,
		5, 3, 52, Proposal, "fewer weeks cannot give an interval of the slope")
	EngagedGauges = monitorSetting("engaged.gauges", groupEngaged, "most that the ratio may differ from one less the load share before the gauges are doubted", Number,
		0.10, 0.01, 0.5, Proposal, "no published value found")
	EngagedDisagree = monitorSetting("engaged.disagree", groupEngaged, "most that what was measured may lie outside the band foreseen", Number,
		0.10, 0.01, 0.5, Proposal, "no published value found")
	EngagedSlipSlope = monitorSetting("engaged.slip_days", groupEngaged, "fewest days that tell a drift of the slip", Number,
		7, 5, 365, Proposal, "fewer days cannot give an interval of the slope")
	EngagedSlipDrift = monitorSetting("engaged.slip_drift", groupEngaged, "least drift of the slip in a week that is a finding", Length,
		0.002, 0, 1, Proposal, "about twice what a displacement gauge resolves in a week of days and nights; no published limit found")
	EngagedWebError = monitorSetting("engaged.web_error", groupEngaged, "how well the stiffness of the web is known, standard deviation over its value", Number,
		0.10, 0, 1, Proposal, "what is left of a corroded web is measured at points; name a better figure at the end where there is one")
	EngagedPanelError = monitorSetting("engaged.panel_error", groupEngaged, "how well the stiffness of the panel is known, standard deviation over its value", Number,
		0.10, 0, 1, Proposal, "the modulus follows from the strength by a formula; name a better figure at the end where there is one")
)

// What gauges and their leads are reckoned with.
var (
	GaugeCopper = monitorSetting("gauge.copper", groupScreen, "change of the resistance of copper leads, per Celsius degree", Number,
		0.0039, 0.003, 0.005, Memory, "handbook value of annealed copper near 20 °C")
	GaugeWireExpansion = monitorSetting("gauge.wire_expansion", groupScreen, "expansion of the wire of a vibrating wire gauge, microstrain per Celsius degree", Number,
		12.2, 5, 20, Read, "manual of a maker of vibrating wire gauges; see the sheet of the gauge at hand")
	GaugeWarmest = monitorSetting("gauge.warm", groupScreen, "most change of temperature of two-wire leads that is looked at, Celsius degrees", Number,
		10, 1, 60, Proposal, "sun and shade on one day")
)

package basis

// Settings of the rating factors. The tables of live-load factors differ by
// edition, so the edition is a setting too.

const (
	groupRating = "Rating"
	groupLRFR   = "Rating, load and resistance factors"
	groupLFR    = "Rating, load factor method"
	groupLegal  = "Live-load factors of legal loads"
	mbe         = "AASHTO Manual for Bridge Evaluation, "
)

func rateSetting(key Key, group, name string, unit Unit, def, low, high float64, tag Tag, source string) Key {
	return Define(Definition{Key: "rating." + key, Group: group, Name: name, Unit: unit, Default: def, Min: low, Max: high, Source: source, Tag: tag})
}

// Condition and system.
var (
	ConditionGood   = rateSetting("condition_good", groupLRFR, "condition factor, good or satisfactory", Number, 1.00, 0.5, 1, SecondHand, mbe+"table 6A.4.2.3-1")
	ConditionFair   = rateSetting("condition_fair", groupLRFR, "condition factor, fair", Number, 0.95, 0.5, 1, SecondHand, mbe+"table 6A.4.2.3-1")
	ConditionPoor   = rateSetting("condition_poor", groupLRFR, "condition factor, poor", Number, 0.85, 0.5, 1, SecondHand, mbe+"table 6A.4.2.3-1")
	ConditionRaise  = rateSetting("condition_raise", groupLRFR, "added to the condition factor where the loss was measured", Number, 0.05, 0, 0.15, Memory, mbe+"commentary C6A.4.2.3; never above 1")
	SystemFactor    = rateSetting("system", groupLRFR, "system factor, shear and bearing", Number, 1.00, 0.5, 1, Memory, mbe+"6A.4.2.4: 1.0 for shear, whatever the number of girders")
	CapacityFloor   = rateSetting("floor", groupLRFR, "least product of condition and system factor", Number, 0.85, 0.5, 1, Read, "Bridge and Highway Structure Rehabilitation and Repair (McGraw-Hill, 2010), p. 187; "+mbe+"6A.4.2.1")
	GammaDWMeasured = rateSetting("gamma_dw_measured", groupLRFR, "wearing surface whose thickness was measured in the field", Number, 1.25, 1, 2, Memory, mbe+"table 6A.4.2.2-1, note")
	GammaInventory  = rateSetting("gamma_inventory", groupLRFR, "design load, inventory", Number, 1.75, 1, 3, SecondHand, mbe+"table 6A.4.2.2-1")
	GammaOperating  = rateSetting("gamma_operating", groupLRFR, "design load, operating", Number, 1.35, 1, 3, SecondHand, mbe+"table 6A.4.2.2-1")
	GammaEmergency  = rateSetting("gamma_emergency", groupLRFR, "emergency vehicles", Number, 1.30, 1, 3, Memory, "FHWA memorandum of November 2016, as commonly used")
	GammaPermit     = rateSetting("gamma_permit", groupLRFR, "permit vehicles where the permit names no factor", Number, 1.40, 1, 3, Memory, mbe+"table 6A.4.5.4.2a-1, the largest of the table")
)

// Live-load factors of legal loads, by trucks a day in one direction.
var (
	// LegalEdition chooses the table: 1 the present one, 2 the one before.
	LegalEdition   = rateSetting("legal_edition", groupLegal, "table in force (1 present edition, 2 older edition)", Number, 1, 1, 2, Proposal, "choice of the owner; the tables differ, and one public copy even has the trend reversed")
	TrafficHigh    = rateSetting("traffic_high", groupLegal, "trucks a day from which the highest factor applies", Number, 5000, 1000, 20000, SecondHand, mbe+"table 6A.4.4.2.3a-1")
	TrafficMiddle  = rateSetting("traffic_middle", groupLegal, "trucks a day of the middle row", Number, 1000, 100, 5000, SecondHand, mbe+"table 6A.4.4.2.3a-1")
	TrafficLow     = rateSetting("traffic_low", groupLegal, "trucks a day of the lowest row, older edition", Number, 100, 1, 1000, SecondHand, mbe+"table 6A.4.4.2.3a-1, older edition")
	LegalHigh      = rateSetting("legal_high", groupLegal, "legal loads, much traffic or unknown", Number, 1.45, 1, 3, SecondHand, mbe+"table 6A.4.4.2.3a-1")
	LegalMiddle    = rateSetting("legal_middle", groupLegal, "legal loads, middle row and less traffic", Number, 1.30, 1, 3, SecondHand, mbe+"table 6A.4.4.2.3a-1")
	LegalHighOld   = rateSetting("legal_high_old", groupLegal, "older edition: legal loads, much traffic or unknown", Number, 1.80, 1, 3, SecondHand, mbe+"table 6A.4.4.2.3a-1, older edition")
	LegalMiddleOld = rateSetting("legal_middle_old", groupLegal, "older edition: legal loads, middle row", Number, 1.65, 1, 3, SecondHand, mbe+"table 6A.4.4.2.3a-1, older edition")
	LegalLowOld    = rateSetting("legal_low_old", groupLegal, "older edition: legal loads, little traffic", Number, 1.40, 1, 3, SecondHand, mbe+"table 6A.4.4.2.3a-1, older edition")
	HaulHigh       = rateSetting("haul_high", groupLegal, "special hauling vehicles, much traffic or unknown", Number, 1.45, 1, 3, Memory, mbe+"table 6A.4.4.2.3b-1")
	HaulMiddle     = rateSetting("haul_middle", groupLegal, "special hauling vehicles, middle row and less traffic", Number, 1.30, 1, 3, Memory, mbe+"table 6A.4.4.2.3b-1")
	HaulHighOld    = rateSetting("haul_high_old", groupLegal, "older edition: special hauling vehicles, much traffic or unknown", Number, 1.60, 1, 3, Memory, mbe+"table 6A.4.4.2.3b-1, older edition")
	HaulMiddleOld  = rateSetting("haul_middle_old", groupLegal, "older edition: special hauling vehicles, middle row", Number, 1.40, 1, 3, Memory, mbe+"table 6A.4.4.2.3b-1, older edition")
	HaulLowOld     = rateSetting("haul_low_old", groupLegal, "older edition: special hauling vehicles, little traffic", Number, 1.15, 1, 3, Memory, mbe+"table 6A.4.4.2.3b-1, older edition")
)

// Load factor method.
var (
	DeadA1      = rateSetting("dead_a1", groupLFR, "factor on dead load, A1", Number, 1.3, 1, 2, Memory, mbe+"part 6B.4.3")
	InventoryA2 = rateSetting("inventory_a2", groupLFR, "factor on live load, inventory, A2", Number, 2.17, 1, 3, Memory, mbe+"part 6B.4.3")
	OperatingA2 = rateSetting("operating_a2", groupLFR, "factor on live load, operating, A2", Number, 1.3, 1, 3, Memory, mbe+"part 6B.4.3")
)

// Posting.
var (
	PostingLeast = rateSetting("posting_least", groupRating, "rating factor below which a vehicle is not allowed", Number, 0.3, 0, 0.9, Read, "Bridge and Highway Structure Rehabilitation and Repair (McGraw-Hill, 2010), p. 187; "+mbe+"6A.8.3")
	PostingClose = rateSetting("posting_close", groupRating, "safe load below which the bridge is closed", Force, 6*4448.2216152605, 0, 100*4448.2216152605, Memory, mbe+"6A.8.1 (3 tons)")
)

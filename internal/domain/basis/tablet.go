package basis

// TabletPhoto is the largest picture that a tablet may send, in megabytes of
// 1,048,576 bytes. The record takes none above 20.
var TabletPhoto = Define(Definition{Key: "tablet.photo_mb", Group: "Tablet", Name: "Largest photograph from a tablet, MB", Unit: Number, Default: 20, Min: 1, Max: 20,
	Source: "a photograph of 12 megapixels has 3 to 5 MB", Tag: Proposal})

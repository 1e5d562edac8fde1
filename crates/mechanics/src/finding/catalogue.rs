//! The catalogue of findings: one row a kind, in the order of their codes.
use super::{Kind, Severity, Touch};

macro_rules! catalogue {
    ($($(#[$doc:meta])* $id:ident = $code:literal, $name:literal, $severity:ident, $title:literal,
        why $why:literal, remedy $remedy:literal, touches [$($touch:ident),*],
        source $source:literal;)*) => {
        $($(#[$doc])* #[doc = $title] pub const $id: Kind = Kind {
            code: $code, name: $name, severity: Severity::$severity, title: $title,
            why: $why, remedy: $remedy, touches: &[$(Touch::$touch),*], source: $source,
        };)*
        /// Every kind of finding, in the order of their codes.
        pub const CATALOGUE: &[&Kind] = &[$(&$id),*];
    };
}

catalogue! {
    // F0xx: what a C3D file says of itself
    FILE_TRUNCATED = "F001", "file-truncated", Doubt, "The file ends before its last frame",
        why "Frames after the cut are missing; events and peaks there are lost.",
        remedy "Copy the file again from the capture computer.",
        touches [Time],
        source "C3D user guide, data section";
    FILE_COUNTS_DISAGREE = "F002", "counts-disagree", Note, "Header and parameters disagree about a count",
        why "One of the two was not updated by the program that wrote the file.",
        remedy "None needed when the figures below look right; the pair that fits the file's size was used.",
        touches [],
        source "C3D user guide: parameters are the master copy";
    FILE_FRAMES_FROM_SIZE = "F003", "frames-from-size", Note, "The number of frames was taken from the file's size",
        why "The stated number of frames is missing or cannot be right.",
        remedy "None needed when the duration looks right.",
        touches [Time],
        source "C3D user guide, more than 65,535 frames";
    FILE_RATE_FROM_HEADER = "F004", "rate-from-header", Note, "The sampling rate was taken from the header",
        why "ANALOG:RATE is missing; header rate times samples per frame was used.",
        remedy "State rate_hz in a rig file if the duration looks wrong.",
        touches [Time],
        source "C3D user guide, header words 10 to 12";
    FILE_RATE_MISSING = "F005", "rate-missing", Stop, "The file states no sampling rate",
        why "Times, impulses and speeds have no scale.",
        remedy "State rate_hz in a rig file.",
        touches [Time],
        source "C3D user guide, ANALOG:RATE";
    FILE_PARAMETER_ODD = "F006", "parameter-odd", Note, "A parameter is malformed or has an unusual type",
        why "It was read by the rule stated, or left out.",
        remedy "Check the quantity named below.",
        touches [],
        source "C3D user guide, parameter records";
    FILE_DUPLICATE_LABEL = "F007", "duplicate-label", Note, "Two channels or markers carry the same label",
        why "Choosing one by name would be a guess; each got a number.",
        remedy "Refer to the numbered name.",
        touches [],
        source "common practice, no source";
    FILE_PLATE_TYPE_UNKNOWN = "F008", "plate-type-unknown", Stop, "A plate has a type that is not publicly described",
        why "Its channels cannot be turned into a force; the plate is left out.",
        remedy "Describe the plate in a rig file with `underfoot rig new`.",
        touches [Everything],
        source "C3D user guide, FORCE_PLATFORM:TYPE";
    FILE_PLATE_INCOMPLETE = "F009", "plate-incomplete", Stop, "A plate's description in the file is incomplete",
        why "Without it the plate's channels cannot be turned into a force; the plate is left out.",
        remedy "Complete the description in a rig file with `underfoot rig new`.",
        touches [Everything],
        source "C3D user guide, FORCE_PLATFORM group";
    FILE_NO_PLATES = "F010", "no-plates", Stop, "The file describes no force plate",
        why "There is nothing to compute a force from.",
        remedy "If the file has force channels, describe the plates with `underfoot rig new`.",
        touches [Everything],
        source "C3D user guide, FORCE_PLATFORM:USED";
    // F1xx: how a plate's description was read
    ORIGIN_TURNED = "F101", "origin-turned", Note, "ORIGIN has a positive z and was turned",
        why "The vector runs from the sensors up to the surface, so z must be negative with the plate's axis down.",
        remedy "None needed; state origin_m in a rig file if the centre of pressure looks wrong.",
        touches [Cop, Turn],
        source "C3D user guide, TYPE-2 and TYPE-3; sign mistake known in the wild";
    CORNERS_NORMAL_UP = "F102", "corners-normal-up", Doubt, "A plate's corners run the other way round",
        why "C3D plates have their z axis down; here it points up, so one horizontal axis may be mirrored.",
        remedy "State the plate's corners (or size, centre and angle) and `force` in a rig file.",
        touches [Shear, Cop, Turn, Signs],
        source "C3D user guide, FORCE_PLATFORM:CORNERS";
    CORNERS_EXCHANGED = "F103", "corners-exchanged", Doubt, "Two corners of a plate are exchanged",
        why "Taken as written the outline crosses itself and gives no axes; the order was repaired as stated.",
        remedy "State the plate's corners in a rig file.",
        touches [Shear, Cop, Turn, Signs],
        source "C3D user guide, FORCE_PLATFORM:CORNERS";
    CORNERS_DEGENERATE = "F104", "corners-degenerate", Stop, "A plate's corners do not span a rectangle",
        why "The plate has no axes and no place on the floor; it is left out.",
        remedy "State the plate's corners in a rig file.",
        touches [Everything],
        source "C3D user guide, FORCE_PLATFORM:CORNERS";
    PLATES_OVERLAP = "F105", "plates-overlap", Doubt, "Two plates overlap as described",
        why "At least one of them is not where the file says; turning moments between the feet depend on it.",
        remedy "Measure the plates' places and state them in a rig file.",
        touches [Cop, Turn],
        source "geometry";
    FORCE_SIGN_TURNED = "F106", "force-sign-turned", Note, "The vertical force was negative under load and was turned",
        why "The channels hold the force on the plate; force and moment were turned together into the reaction.",
        remedy "None needed; state `force` in a rig file to settle it for all recordings.",
        touches [],
        source "C3D user guide, TYPE-2; Newton's third law";
    BASELINE_SEEN = "F107", "baseline-seen", Doubt, "A plate reads a force while it is unloaded",
        why "The offset adds to every force; small forces and centres of pressure suffer most.",
        remedy "Remove it with `--zero found` (the plate's own empty interval) or `--zero file` (the file's ZERO window, where it is unloaded), or record the empty plates once and give that file to --zero.",
        touches [Up, Shear, Cop, Turn, Weight],
        source "C3D user guide, FORCE_PLATFORM:ZERO";
    BASELINE_LOADED = "F108", "baseline-loaded", Doubt, "The file's ZERO window is loaded; no baseline was removed",
        why "Removing it would subtract the player's weight.",
        remedy "Record an empty plate, or state an empty interval.",
        touches [Up, Shear, Cop, Turn, Weight],
        source "C3D user guide, FORCE_PLATFORM:ZERO";
    UNITS_ASSUMED = "F109", "units-assumed", Note, "Units of a plate channel were worked out, not stated",
        why "The unit text is missing or contradicts what the channel must be.",
        remedy "State the units in a rig file if the body weight looks wrong.",
        touches [],
        source "C3D user guide, ANALOG:UNITS";
    UP_TURNED = "F110", "up-turned", Note, "The file's up axis contradicts its markers and was turned",
        why "POINT:Y_SCREEN describes a screen; some programs write the downward axis there. A body is above the floor.",
        remedy "State up in a rig file if the drawing looks upside down.",
        touches [],
        source "C3D user guide, POINT:X_SCREEN and Y_SCREEN";
    // R2xx: rig against recording, tables
    RIG_CONTRADICTS_FILE = "R201", "rig-contradicts-file", Doubt, "The rig file and the recording disagree",
        why "The rig file was followed, as asked; one of the two is wrong.",
        remedy "Compare the two with `underfoot inspect` and `underfoot rig check`, and correct the rig file if it is the one that is wrong.",
        touches [Everything],
        source "common practice, no source";
    TABLE_GAP = "R202", "table-gap", Note, "Cells of the table are empty or not numbers",
        why "They are kept as gaps; quantities that need them are not defined there.",
        remedy "Export the recording again if a gap is unexpected.",
        touches [],
        source "common practice, no source";
    TIME_NOT_UNIFORM = "R203", "time-not-uniform", Doubt, "The time column is not evenly spaced",
        why "Samples were dropped or the clock jumped; times and impulses are off there.",
        remedy "Export the recording again.",
        touches [Time],
        source "common practice, no source";
    TABLE_RATE_FROM_PREAMBLE = "R204", "rate-from-preamble", Note, "The sampling rate was taken from a line above the table",
        why "There is no time column; a line above the column names states a rate.",
        remedy "State rate_hz in the rig file if the duration looks wrong.",
        touches [Time],
        source "common practice, no source";
    SENSORS_ABOVE_SURFACE = "R205", "sensors-above-surface", Doubt, "The rig puts a plate's sensors above its surface",
        why "origin_m runs from the sensors up to the surface; a turned sign moves every centre of pressure by twice the depth times Fx/Fz or Fy/Fz.",
        remedy "Turn the sign of origin_m's z, or state depth_mm, which needs no sign.",
        touches [Cop, Turn],
        source "C3D user guide, TYPE-2; sign mistake known in the wild";
    RIG_OVERRIDES_FILE = "R206", "rig-overrides-file", Note, "The rig file states a plate otherwise than the recording",
        why "A unit, the direction of z, whose force it is, or the order of corners was stated on purpose and was followed; whether it is right, other findings tell.",
        remedy "None, if that is as intended.",
        touches [],
        source "common practice, no source";
    // Q3xx: the recording itself
    TARGET_ASSUMED = "Q301", "target-assumed", Doubt, "The target direction is not stated",
        why "Lead and trail, target and toe all follow from it.",
        remedy "State it with --target (for example --target +x) or in the rig file.",
        touches [Split, Signs],
        source "common practice, no source";
    HAND_ASSUMED = "Q302", "hand-assumed", Doubt, "The player's handedness is not stated",
        why "For a left-handed player toe and turn change sign, and with an assumed target lead and trail change places.",
        remedy "State it with --hand right or --hand left.",
        touches [Split, Signs],
        source "common practice, no source";
    READS_AS_ACTION = "Q303", "reads-as-action", Stop, "The horizontal forces read as the force on the plate, not on the player",
        why "A standing body is pushed back over its centre of pressure; here it is pushed away. Every horizontal force, shear couple and free moment has the wrong sign; or, where a plate's corners run the other way round (F102), one horizontal axis is mirrored, and its centre of pressure with it.",
        remedy "Settle it once for the rig: state `force = \"on plate\"` and the plate's `z` in a rig file.",
        touches [Shear, Cop, Turn, Signs],
        source "standing as an inverted pendulum: Winter 1995, Gait & Posture 3:193-214";
    NEVER_LOADED = "Q304", "never-loaded", Note, "A plate is never loaded",
        why "It carries no foot and is left out of the accounts.",
        remedy "None, if that is as intended.",
        touches [],
        source "common practice, no source";
    NOTHING_LOADED = "Q305", "nothing-loaded", Stop, "No plate is loaded",
        why "There is no player to measure.",
        remedy "Check the channels and units with `underfoot inspect`.",
        touches [Everything],
        source "common practice, no source";
    ONE_PLATE = "Q306", "one-plate", Note, "One plate: only net accounts exist",
        why "The feet share the plate, so their parts cannot be told apart.",
        remedy "None; compare with two-plate recordings in net quantities.",
        touches [],
        source "statics: one wrench cannot be split in two without more knowledge";
    FEET_NOT_ALONG_TARGET = "Q307", "feet-not-along-target", Doubt, "The feet stand side by side as seen from the target",
        why "Lead and trail are told apart along the target line; here they hardly differ.",
        remedy "Check --target, or state which plate carries which foot in the rig file.",
        touches [Split],
        source "common practice, no source";
    FEET_SWAPPED = "Q308", "feet-swapped", Stop, "The feet contradict the target and the hand",
        why "The foot nearer the target must be the lead foot: left for a right-handed player, right for a left-handed one.",
        remedy "Check --target, --hand and the `foot` entries of the rig file.",
        touches [Shear, Cop, Turn, Split, Signs],
        source "common practice, no source";
    COP_OFF_PLATE = "Q309", "cop-off-plate", Doubt, "The centre of pressure leaves the plate",
        why "A force cannot act outside the plate: units, origin or corners are wrong, or a foot bridges a gap.",
        remedy "Check the plate with `underfoot inspect`, and its units and origin in the rig file.",
        touches [Cop, Turn],
        source "statics";
    WEIGHT_ODD = "Q310", "weight-odd", Doubt, "The standing force does not look like a person's weight",
        why "Units may be off by a large factor, or nobody stands quietly; every %BW figure scales with it.",
        remedy "State --mass, or check the units in the rig file.",
        touches [Up, Weight],
        source "common practice, no source";
    MASS_DISAGREES = "Q311", "mass-disagrees", Doubt, "The standing force does not match the stated mass",
        why "Every %BW figure scales with it.",
        remedy "Re-zero the plates or correct the mass.",
        touches [Up, Weight],
        source "common practice, no source";
    NO_QUIET_STANCE = "Q312", "no-quiet-stance", Doubt, "No quiet loaded interval was found",
        why "Body weight and the stance centre are taken from it.",
        remedy "State --mass; begin recordings with a second of quiet address.",
        touches [Weight],
        source "common practice, no source";
    FEET_EXTRA_PLATE = "Q313", "extra-plate", Note, "A further plate was booked to a foot",
        why "More than two plates are loaded; each further plate goes to the foot it is nearer to.",
        remedy "State `foot` for each plate in the rig file if that is wrong.",
        touches [],
        source "common practice, no source";
    MARKERS_DISAGREE = "Q314", "markers-disagree", Doubt, "Foot markers and forces disagree",
        why "The centre of pressure should lie near the foot that stands there.",
        remedy "Check corners and origin of the plate, or the marker labels.",
        touches [Cop, Turn],
        source "anatomy: a foot's centre of pressure lies under the foot";
    GAP_IN_SIGNAL = "Q315", "gap-in-signal", Doubt, "A plate channel has no value for part of the time",
        why "Nothing is defined there and no value was invented: a peak in the gap is lost, and impulses across it are too small.",
        remedy "Export the recording again, or leave that part out.",
        touches [Everything],
        source "common practice, no source";
    SIGNS_DIFFER = "Q316", "signs-differ", Doubt, "Plates of one rig hold opposite forces",
        why "Turning one plate and not the other is right only if they really were set up differently; otherwise one horizontal axis of it is mirrored.",
        remedy "Check that plate's sign and axis settings, and state `force` and `z` for it in a rig file.",
        touches [Shear, Cop, Turn, Signs],
        source "common practice, no source";
    ENDS_ON_TRAIL = "Q317", "ends-on-trail", Doubt, "The swing ends on the trail foot",
        why "A full swing finishes on the lead foot; otherwise plates, target or hand are exchanged, and so are lead and trail.",
        remedy "Check --target and --hand, and that each plate's cable goes to its own input.",
        touches [Shear, Cop, Turn, Split, Signs],
        source "Ball & Best 2007, J Sports Sci 25:757-770: weight is at the lead foot in the follow-through of most players; Reverse players keep more behind";
    OFFSET_LARGE = "Q318", "offset-large", Stop, "A plate reads a large force while it is unloaded",
        why "The offset is many times the load floor: forces, centres of pressure and moments of this plate, and the net, are wrong by it.",
        remedy "Remove it with `--zero found` (the plate's own empty interval) or `--zero file` (the file's ZERO window, where it is unloaded), or zero the plate and record again.",
        touches [Up, Shear, Cop, Turn, Weight],
        source "C3D user guide, FORCE_PLATFORM:ZERO; common practice, no source";
    // Q32x to Q34x: what else a careful reader of the curves would notice
    CLIPPED = "Q320", "clipped", Stop, "A channel is cut off at its limit",
        why "The amplifier or converter was full: the peaks of this plate are larger than recorded, and its centre of pressure and moments are wrong meanwhile.",
        remedy "Set a larger range on the amplifier and record again; nothing in the file says how large the peak was.",
        touches [Up, Shear, Cop, Turn, Time],
        source "common practice, no source";
    SAMPLES_DROPPED = "Q321", "samples-dropped", Doubt, "All plates jump at one instant, as where samples were lost",
        why "A body cannot change every force between two samples and go on as smoothly as before: times after the jump are early, and impulses across it too small.",
        remedy "Copy or export the recording again; if it stays, check the data connection and record again.",
        touches [Time],
        source "common practice, no source";
    PLATES_OUT_OF_STEP = "Q322", "plates-out-of-step", Doubt, "One plate seems to run late against the other",
        why "While weight only passes from foot to foot, what one plate gains the other loses at the same instant; here the sum follows the passing. Net forces, couples and the order of peaks between the feet are off.",
        remedy "Record both plates through one clock and check each plate's delay (digital filters, wireless links); export again.",
        touches [Up, Shear, Cop, Turn, Time],
        source "Newton's second law: with a still body the sum is the weight; the estimate is ours";
    FOOT_AT_EDGE = "Q323", "foot-at-edge", Doubt, "A foot stands at the edge of its plate",
        why "A sole is about 100 mm wide and 290 mm long: with the centre of pressure this near the edge, part of it may rest on what lies beyond, and that part is missing here or is booked to the other foot.",
        remedy "Stand with each foot well inside its plate and record again. The net of touching plates is right meanwhile: --collapse.",
        touches [Up, Shear, Cop, Turn, Split],
        source "anatomy: half the width of a foot; common practice, no source";
    FORCE_UNITS_ODD = "Q324", "force-units-odd", Stop, "Forces are off by a factor of a thousand",
        why "Newtons were called kilonewtons, or the reverse: every force, moment and percentage is wrong by it.",
        remedy "State force_unit and moment_unit for each plate in a rig file.",
        touches [Everything],
        source "common practice, no source: a person weighs 150 to 2500 N";
    MOMENT_UNITS_ODD = "Q325", "moment-units-odd", Stop, "Moments are off by a factor of a thousand",
        why "N·mm were called N·m, or the reverse: centres of pressure, turn and free moments are wrong by it; forces stand.",
        remedy "State moment_unit for the plate in a rig file.",
        touches [Cop, Turn, Split],
        source "statics: the centre of pressure lies on the plate";
    LENGTHS_ODD = "Q326", "lengths-odd", Stop, "A plate's size is not that of a plate",
        why "Millimetres were called metres, or the reverse: the plate's place, and the turn between the feet, are wrong by it.",
        remedy "State size_m and centre_m, or corners_mm, in a rig file.",
        touches [Cop, Turn],
        source "common practice, no source: plates measure 0.2 to 3 m";
    DRIFTED = "Q327", "drifted", Doubt, "Early and late readings of the same load differ",
        why "The zero moved while recording, or part of a foot rests beside its plate: forces are off by as much, impulses by more.",
        remedy "Let the plates warm up, zero them before each recording, leave them empty at begin and end (then the drift can be taken off), and stand wholly on them.",
        touches [Up, Shear, Cop, Turn, Weight, Time],
        source "common practice, no source";
    RATE_TOO_LOW = "Q328", "rate-too-low", Doubt, "The sampling rate is low for a swing",
        why "A downswing lasts a quarter of a second: peaks, their instants and loading rates are smeared over whole samples.",
        remedy "Record at 500 Hz or more.",
        touches [Time],
        source "1000 and 1200 Hz are used: Worsfold et al. 2009; McNitt-Gray et al. 2013, Sports Biomech 12:121-131; the limit is common practice, no source";
    RATE_MODEST = "Q329", "rate-modest", Note, "The sampling rate is modest for loading rates",
        why "Forces and turn are well seen; the steepest rises are not.",
        remedy "None for forces and turn; record at 500 Hz or more where rates of loading matter.",
        touches [],
        source "1000 and 1200 Hz are used: Worsfold et al. 2009; McNitt-Gray et al. 2013, Sports Biomech 12:121-131; the limit is common practice, no source";
    NOISY = "Q330", "noisy", Doubt, "A plate is noisy",
        why "Peaks read too high by the noise, loading rates most; centres of pressure scatter.",
        remedy "Check cables, earth and range of the amplifier; a low-pass filter helps meanwhile.",
        touches [Cop, Time],
        source "common practice, no source: the limit is one per cent of a person's weight";
    MAINS_HUM = "Q331", "mains-hum", Doubt, "A plate carries mains hum",
        why "A wave of the mains frequency rides on every force; loading rates suffer most.",
        remedy "Check earth and cables; a low-pass filter well under the mains frequency takes it off.",
        touches [Cop, Time],
        source "common practice, no source";
    TURNS_AWAY = "Q332", "turns-away", Doubt, "The largest turn is away from the target",
        why "In the downswing the ground turns the player toward the target. Here it is the other way round for the hand given: either the hand is wrong, or the horizontal forces have the wrong sign.",
        remedy "Check --hand; if it is right, check whose force the channels hold (`force` in a rig file).",
        touches [Shear, Turn, Signs],
        source "common practice, no source";
    OUTLIERS = "Q333", "outliers", Stop, "Single samples lie far outside what their neighbours allow",
        why "A body cannot push and stop pushing within a few samples: a peak there is a spark of the cable or an error of transmission, and every peak, rate and instant of this plate may be that and nothing else.",
        remedy "Copy or export the recording again. In a table, empty the cells named: they are gaps then, and --bridge draws over short ones.",
        touches [Everything],
        source "common practice, no source: the limits are ours, tried on measured recordings";
    CHANNEL_DEAD = "Q334", "channel-dead", Stop, "A channel never changes while its plate is loaded",
        why "A cable is off, an input is not switched on, or a column was filled in: all that is worked out from this channel is wrong.",
        remedy "Check that channel's cable and its place in the file, and record again; nothing in the file says what it should have been.",
        touches [Everything],
        source "common practice, no source: no two readings of a loaded plate are alike to the last digit for long";
    PLATE_HELD = "Q335", "plate-held", Stop, "A plate stops reading for a while",
        why "All its channels hold one value while it is loaded, or fall to it from a full load between two samples: the connection was lost. Everything of this plate and of the net is wrong meanwhile.",
        remedy "Record again, with the connection checked; or keep that part out of what you measure.",
        touches [Everything],
        source "common practice, no source";
    PLATES_COPIED = "Q336", "plates-copied", Stop, "Two plates read the same to the last digit",
        why "One of them is a copy of the other: the second foot is not in the recording, or the rig names its channels wrongly.",
        remedy "Check the channels named for each plate in the rig file, then the export, and the cables.",
        touches [Everything],
        source "common practice, no source: two feet are never the same";
    FORCE_UNITS_WEIGHT = "Q337", "force-units-weight", Stop, "Forces are in kilograms or pounds, not in the unit stated",
        why "Who stands on the plates would weigh a tenth or a quarter of a person, or ten or four times one: every force, moment and percentage is wrong by it.",
        remedy "State force_unit and moment_unit for each plate in a rig file: \"kgf\" or \"lbf\".",
        touches [Everything],
        source "1 kgf = 9.80665 N, 1 lbf = 4.4482216152605 N, exact by definition; common practice, no source: who stands weighs 300 to 1500 N";
    MASS_FAR = "Q338", "mass-far", Stop, "The standing force is far from the stated mass",
        why "No zero is off by that much: the unit or the gain of the forces is wrong, a plate is missing, or the mass is not the player's.",
        remedy "Check the mass and its unit, that every plate the player stands on is in the rig, and force_unit.",
        touches [Up, Shear, Turn, Weight],
        source "Newton's second law: with a still body the sum is the weight; common practice, no source";
    VERTICAL_REVERSED = "Q339", "vertical-reversed", Stop, "The vertical force of a plate is negative while it is loaded",
        why "The ground can only push: the description says the wrong thing of whose force the channels hold (`force`), or of where the plate's z points. A zero taken off does not help.",
        remedy "State the other `force` for the plate in a rig file.",
        touches [Everything],
        source "Newton's third law";
    TIMES_ODD = "Q340", "times-odd", Stop, "The times look like milliseconds or microseconds, read as seconds",
        why "A swing does not last for minutes: rates, impulses and instants are wrong by a thousand or a million.",
        remedy "State time_unit in the [table] section of a rig file, or rate_hz.",
        touches [Everything],
        source "common practice, no source: recordings of swings last seconds, at 100 to 5000 samples a second";
    BEGINS_MOVING = "Q341", "begins-moving", Doubt, "The recording begins in movement",
        why "Nothing shows the player at rest before: body weight, stance and address come from elsewhere or are missing, and the takeaway may lie before the first sample.",
        remedy "State --mass; begin recordings with a second of quiet address.",
        touches [Weight, Split, Time],
        source "common practice, no source";
    TOO_SHORT = "Q342", "too-short", Doubt, "The recording is shorter than a swing",
        why "A downswing alone lasts a quarter of a second: there is no address, no whole impulse and no event to go by.",
        remedy "Export the whole recording, from a second of quiet address to the finish; check rate_hz where it is long enough.",
        touches [Weight, Time],
        source "common practice, no source";

    // Q35x: events
    EVENTS_DISAGREE = "Q350", "events-disagree", Doubt, "Two sources disagree about an event",
        why "They differ by more than three times their combined uncertainty: one of them is wrong, or means something else.",
        remedy "Look at the instant, and settle it with --set (for example --set impact=1.234).",
        touches [Time],
        source "JCGM 100:2008 (GUM): combined standard uncertainty";
    EVENTS_OUT_OF_ORDER = "Q351", "events-out-of-order", Doubt, "Events are not in the order of a swing",
        why "Durations and figures between the two are not defined.",
        remedy "Settle the wrong one with --set (for example --set top=0.98).",
        touches [Time],
        source "definition: address, takeaway, top, impact, finish";
    EVENT_OUTSIDE = "Q352", "event-outside", Doubt, "An event lies outside the recording",
        why "It was left out; another source, or none, took its place.",
        remedy "Give a time within the recording, in its own seconds.",
        touches [Time],
        source "common practice, no source";
    EVENT_ESTIMATED = "Q353", "event-estimated", Note, "An event is only an estimate",
        why "Force alone does not show it; the usual order and distance of peaks gave a place and a wide spread. No published figure uses it.",
        remedy "Record an impact channel, sound or club marker, or place it with --set.",
        touches [],
        source "common practice, no source";
    TWO_MOVEMENTS = "Q354", "two-movements", Doubt, "The recording holds more than one movement",
        why "Events and peaks are those of the movement with the largest vertical force.",
        remedy "Cut the recording, so that each file holds one swing.",
        touches [Time],
        source "common practice, no source";
    EVENT_CHANNEL_SILENT = "Q355", "event-channel-silent", Doubt, "What should mark an event does not",
        why "The channel, sound or marker named gave no instant; another source, or none, took its place.",
        remedy "Check `[trigger]` in the rig file, or --club-marker, with `underfoot inspect --all`.",
        touches [Time],
        source "common practice, no source";
    EVENT_CHANNEL_RECOGNISED = "Q356", "event-channel-recognised", Note, "A channel was taken as a mark of impact by its label",
        why "Nobody states what it marks.",
        remedy "State it under `[trigger]` in a rig file.",
        touches [],
        source "common practice, no source";
    NO_SWING_SEEN = "Q357", "no-swing-seen", Note, "No movement in the recording looks like a swing",
        why "Events are not looked for, so that none is invented.",
        remedy "None, if that is as intended; otherwise check --target and the plates, or place events with --set.",
        touches [],
        source "Ball & Best 2007, J Sports Sci 25:757-770: load goes back, then forward; common practice";

    // Q36x: conditioning
    ZERO_NOT_FOUND = "Q360", "zero-not-found", Doubt, "The zero of a plate could not be taken as asked",
        why "The plate was left as recorded; an offset, if it has one, is still in its numbers.",
        remedy "Record the empty plates once and give that file with --zero FILE, or state an interval in which nobody is on the plate.",
        touches [Up, Shear, Cop, Turn],
        source "common practice, no source";
    DRIFT_NOT_SEEN = "Q361", "drift-not-seen", Doubt, "The drift of a plate could not be removed as asked",
        why "Only an empty plate shows its drift; the plate was left as recorded.",
        remedy "Begin and end recordings with the plates empty, or zero them before each.",
        touches [Up, Shear, Cop, Turn, Time],
        source "common practice, no source";
    GAPS_BRIDGED = "Q362", "gaps-bridged", Note, "Gaps in a plate's channels were bridged",
        why "The values there are drawn between their neighbours, not measured.",
        remedy "None, if the gaps lie away from what you measure; --bridge 0 leaves them open.",
        touches [],
        source "Fritsch & Butland 1984, SIAM J Sci Stat Comput 5:300-304 (monotone piecewise cubic)";
    FILTER_NOT_POSSIBLE = "Q363", "filter-not-possible", Stop, "A filter or rate that was asked for cannot be had",
        why "The plate is shown as recorded although a filter was asked for: peaks and rates differ from those of filtered recordings.",
        remedy "Choose a cut-off below half the sampling rate, or leave the filter out.",
        touches [Up, Shear, Cop, Turn, Time],
        source "sampling theorem";
    FILTER_DROPS = "Q364", "filter-drops", Note, "Short stretches between gaps could not be filtered",
        why "A filter needs some samples to begin; unfiltered values beside filtered ones would mislead, so they are left out.",
        remedy "Bridge short gaps with --bridge, or look at the recording with --raw.",
        touches [],
        source "common practice, no source";
    FILTER_CUTS = "Q365", "filter-cuts", Doubt, "The low-pass takes away movement, not only noise",
        why "Peaks become lower and later, and rates smaller, by what is cut off.",
        remedy "Choose a higher cut-off: `underfoot filter --suggest` proposes one; compare with --raw.",
        touches [Up, Shear, Cop, Turn, Time],
        source "Winter 2009, ch. 3 (residual analysis); the limit is ours";
    NOISE_NOT_KNOWN = "Q366", "noise-not-known", Note, "The noise of a plate could not be told from the recording",
        why "Its numbers are stated without what noise adds to their uncertainty.",
        remedy "Record the channels without gaps, or bridge short ones with --bridge.",
        touches [],
        source "JCGM 100:2008 (GUM), 4.2: a standard uncertainty of repeated observations needs some";

    // Q37x: uncertainty and metrics
}

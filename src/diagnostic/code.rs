//! Every code with its stable name and the explanation that `bedway explain` prints.

macro_rules! codes {
    ($($(#[$meta:meta])* $variant:ident = $name:literal, $explanation:literal;)*) => {
        /// What kind of problem it is: `area::kebab-case`, stable from version to version.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Code { $($(#[$meta])* $variant),* }

        impl Code {
            pub const ALL: &'static [Code] = &[$(Code::$variant),*];

            pub fn name(self) -> &'static str {
                match self { $(Code::$variant => $name),* }
            }

            /// Why it matters at the bench and how to mend it, in plain words.
            pub fn explanation(self) -> &'static str {
                match self { $(Code::$variant => $explanation),* }
            }

            pub fn parse(name: &str) -> Option<Code> {
                Self::ALL.iter().copied().find(|code| code.name() == name)
            }
        }
    };
}

// Areas: `line` (how lines are put together), `name`, `unit` (units and dimensions), `sense`, `axis`, `table`,
// `flow` (needs, order, stops), `rule` (tolerances), `series`, `include`, `kit`, `example`.
codes! {
    // ---- line
    NotText = "line::not-text",
        "The file holds bytes that are not UTF-8 text, or control characters. Save it as UTF-8 plain text.";
    TooLong = "line::too-long",
        "The line, or the whole file, is longer than any that a person writes; perhaps the wrong file was named. Break a line into several lines: a line goes on after a comma, after an operator or inside a bracket. A long procedure is broken into parts, each a file of its own, with `include`.";
    TooMany = "line::too-many",
        "So many lines cannot be read that listing them all helps nobody. Mend the first ones; often one of them is the cause of many. Perhaps the file is no procedure at all.";
    Empty = "line::empty",
        "There is nothing to check or walk. A procedure begins with `language 1` and `procedure \"title\"`.";
    LoneReturn = "line::lone-return",
        "Lines end in a line feed, or in a return and a line feed. A return by itself shows as a new line in some programs and as nothing in others, so the file could read otherwise than it is taken. Save it with line ends LF or CRLF.";
    LookAlike = "line::look-alike",
        "A character looks like one of the language but is another, as word processors put in: curly quotes, long dashes, multiplication signs, blanks that do not break. Type the plain character from the keyboard. Inside texts every character is allowed.";
    DecimalComma = "line::decimal-comma",
        "In a file the decimal mark is a point and a comma parts two values, so `0,02` could mean one number or two. Write `0.02`, or `0, 2` with a blank for two values. At the prompt of a walk a comma between two digits is taken as a decimal mark.";
    OpenText = "line::open-text",
        "A text begins with a quote and ends with a quote on the same line of the file. A long text is written in several parts, each in its own quotes, each on its own line; the parts are joined by one blank.";
    OpenBracket = "line::open-bracket",
        "A bracket that opens must be closed. A line goes on over the next ones while a bracket is open, and ends at a blank line or where a line of another kind begins, so the fault is shown where the bracket opens.";
    OpenBrace = "line::open-brace",
        "In a text, braces put a value in: `{lean}` or `{lean in mm}`. They close in the same quotes and hold a value and nothing else. For a brace as such write `{{`.";
    UnknownEscape = "line::unknown-escape",
        "In a text a backslash stands only before a quote or before another backslash: `\\\"` and `\\\\`.";
    StrayText = "line::stray-text",
        "A text by itself goes on the text of the line right above it. Here no such line stands above: perhaps a blank line was put between, or the word that begins the line is missing.";
    UnknownWord = "line::unknown-word",
        "The first word of a line says what the line is. This word begins no line of the language. The nearest one is offered; the language reference lists all of them.";
    WrongBlock = "line::wrong-block",
        "The line is of the language, but belongs into a block that is not open here: a `plus` stands under a reading, a `resolution` in an instrument. A line that a block outside takes closes the blocks inside it, so perhaps the lines only need another order.";
    RunsOn = "line::runs-on",
        "A line goes on in the next one after a comma, an operator, or a word such as `and`. Here the next line begins like a line of its own, and the two do not make sense together. Take the last sign away, or write what should follow it.";
    BreaksOff = "line::breaks-off",
        "Something is missing at the end of the line. The message says what may stand there.";
    Unexpected = "line::unexpected",
        "At this place in the line something else must stand; the message says what. Everything before it was understood.";
    ReservedWord = "line::reserved-word",
        "Words that begin or follow an expression, such as `from`, `over` or `within`, cannot be the name of a value, a step or an axis: a line with such a name would read in two ways. Stations and choices may be any word.";
    Chained = "line::chained",
        "One condition holds one comparison. `a above 1 below 2` is written `a above 1 and a below 2`, or `a from 1 to 2` where the limits themselves are allowed.";
    TooDeep = "line::too-deep",
        "Brackets or parts stand so deep in one another that nobody can check them by reading. Work a part out in a `let` with a name of its own.";
    // ---- name
    NameUnknown = "name::unknown",
        "A name stands for nothing that was given. Values of the same step and of the whole file are named as they are; a value of another step is written STEP.NAME.";
    NameUnknownStep = "name::unknown-step",
        "No step of the file has this name. Steps are named right behind the word `step`.";
    NameUnknownParty = "name::unknown-party",
        "Who signs or holds besides the operator must be said at the top of the file: party owner \"Customer, or who witnesses for them\".";
    NameUnknownMethod = "name::unknown-method",
        "A step follows a pattern of lines that is given nowhere: neither a `method` of the file nor of a library that it includes has this name.";
    NameUnknownInstrument = "name::unknown-instrument",
        "A reading is taken with an instrument that the file does not list. Instruments stand at the top of the file, so that whoever walks it knows what to bring.";
    NameUnknownFunction = "name::unknown-function",
        "There is no function of this name. The functions are a closed list in the language reference; a station of a value is picked in square brackets.";
    NameUnknownChoice = "name::unknown-choice",
        "What stands after `is` must be one of the words that the fact or observation offers; otherwise the condition could never hold, and nobody would notice.";
    NameTooManyChoices = "name::too-many-choices",
        "A choice is shown to a person who picks one of its words. With more than a hundred nobody reads them all; then it is a text.";
    NameUnknownTolerance = "name::unknown-tolerance",
        "A tolerance is spoken of by the name that it was given: tolerance NAME \"label\" RESULT RULE. A tolerance without a name of its own is spoken of by its result: RESULT outside.";
    NameUnknownAdjustment = "name::unknown-adjustment",
        "Advice and moves speak of an `adjustment` line of the step, which says what is moved, in which unit, and what plus and minus mean.";
    NameUnknownWay = "name::unknown-way",
        "After `by` stands the way in which a figure is worked out, such as ends, least_squares or minimum_zone. The function does not know this one.";
    NameTaken = "name::taken",
        "Two things of one kind have the same name, so that nobody can tell which is meant. Give one of them another name.";
    NameShadows = "name::shadows",
        "A value of a step has the name of a value of the whole file. Both could be meant where the name stands, so one of them needs another name.";
    NameNotThat = "name::not-that",
        "The name is known, but stands for something else than what is wanted here, as a table where a reading is wanted.";
    NameArguments = "name::arguments",
        "A function has too many or too few values in its brackets, or a word behind them that it does not take.";
    // ---- unit
    UnitMissing = "unit::missing",
        "A number without its unit is how millimetres, thou and divisions get mixed. Write the unit straight behind the number.";
    UnitMismatch = "unit::mismatch",
        "Two values do not go together: a length with an angle, a ratio with a length, a temperature with a difference of temperatures. The message says what each of them is. An angle becomes a ratio only through `tan`.";
    UnitNumber = "unit::number",
        "A number cannot be used where it stands: not whole where a count is wanted, zero or below where a size is wanted, or out of all proportion.";
    UnitDate = "unit::date",
        "The calendar has no such day. Dates are written year, month, day: 2026-03-02.";
    UnitNotANumber = "unit::not-a-number",
        "Something that is no number (a choice, a yes or no, a text, a date) is worked with as if it were one.";
    UnitNotACondition = "unit::not-a-condition",
        "Where a condition is wanted stands something that is neither yes nor no. Compare a number (`at most`, `within`), or write `is` and a word behind a choice.";
    UnitTemperature = "unit::temperature",
        "20 degC is a point on a scale. Points have a difference (in K), a mean, a least and a greatest; they have no sum and no product, because the result would depend on where the scale has its zero.";
    UnitLevel = "unit::level",
        "Sound levels in dB are logarithms. They take difference, mean (of the energy), least, greatest and range; to take a background away use `without_background(total, background)`.";
    UnitOfRatio = "unit::of-ratio",
        "A result must say how it is shown. A ratio may be meant as mm/m, as % or as a plain number, so `in mm/m`, `in %` or `in 1` stands behind it.";
    UnitArgument = "unit::argument",
        "A function is given a value of a kind that it cannot work on, as the sine of a length.";
    UnitTwoScales = "unit::two-scales",
        "A reading in divisions may be taken with instruments whose divisions mean different things, so the same entry would have two values. Read it in mm/m, or with one kind of instrument.";
    UnknownUnit = "unit::unknown",
        "Units are a closed list, so that no number is taken in another unit than meant. Write `um` for micrometre, `thou` for a thousandth of an inch, `degC`, `rpm`, `/min`. A compound unit such as `mm/m` has no blanks; a division has blanks on both sides.";
    // ---- sense
    SenseMissing = "sense::missing",
        "A reading that is a difference of position (a length, an angle, mm/m) and an adjustment say in words what plus and minus mean, or are `unsigned`. A sign without words is read the other way round next year.";
    SenseOneSided = "sense::one-sided",
        "Plus and minus belong together: if plus is toward the operator, minus must be said as well. Or the value is `unsigned`, and then it has no words.";
    SenseSameWords = "sense::same-words",
        "Plus and minus have the same words, so the sign says nothing.";
    SensePlainWords = "sense::plain-words",
        "The words for plus and minus stand on the record beside every value and are compared with each other: they are plain, without values in braces, and not empty.";
    SenseNeeded = "sense::needed",
        "A limit that is not the same on both sides of zero, or a shape such as convex, needs a value whose plus and minus have words. Where a sense does not carry over by itself (two different senses, a product, a turned instrument) it is said again beneath the `let`.";
    SenseAtMost = "sense::at-most",
        "`at most` on a value with a sign passes any size on the minus side: -0.2 mm is at most 0.01 mm. Write `within` for both sides, `from .. to` for one side, or judge `abs(...)`.";
    SenseTurned = "sense::turned",
        "The words beneath a `let` say the opposite of what carries over. That may be meant; more often a sign was lost. Turn the value with a minus, or leave the words away.";
    SenseNotUnsigned = "sense::not-unsigned",
        "A value with a sign is declared unsigned, and half of what it says would be thrown away. Take `abs(...)` if only the size counts.";
    SenseBranches = "sense::branches",
        "Two values that stand for one another (the branches of an `if`, the sides of a crosscheck) point in different ways, so that plus would mean now this and now that.";
    SenseNoPair = "sense::no-pair",
        "A line `sense stays with` or `sense turns with` speaks of a reversal: a reading taken twice, turned in between. This reading has no such pair of stations.";
    SensePairUnsaid = "sense::pair-unsaid",
        "To part the machine's error from the bar's or the level's own it must be said what the second reading does to the sign. A dial that stays where it is while the bar is turned: `sense stays with the machine`. A level that is turned end for end: `sense turns with the level`. The two give opposite formulas.";
    SenseTurnsSameWords = "sense::turns-same-words",
        "Under `sense turns with`, plus of the reading speaks of an end of the instrument (bubble to the marked end). The machine's own tilt is another thing and needs words of its own (front high).";
    SenseNoRise = "sense::no-rise",
        "Before the readings of a level are added up to heights it must be said whether plus means that the far side is higher (`sense rises along`) or lower (`sense falls along`). Taken the wrong way a hollow bed would pass as convex.";
    SenseStationDifference = "sense::station-difference",
        "The difference between two stations keeps the words of the reading, but they say little about it: how much more `front high` there is at the tail. Words of its own, such as `front rises toward the tail`, can be read without thinking.";
    // ---- axis
    AxisUnknown = "axis::unknown",
        "An `over` line names an axis whose stations are said nowhere: neither behind it, nor above it in the step, nor in an `axis` line at the top of the file.";
    AxisNotOver = "axis::not-over",
        "The value is not laid out over the axis that is named, so nothing can be taken together or picked along it.";
    AxisWhich = "axis::which",
        "The value is laid out over several axes, and it is not said along which of them. Name the axis: `gain(x over place)`, `x[place 0 mm]`.";
    AxisMismatch = "axis::mismatch",
        "Two laid-out values meet station by station only if the stations are the same. Here the axes or their stations differ.";
    AxisNoSuchStation = "axis::no-such-station",
        "A station is picked that was never laid out, so it would never be read.";
    AxisNotDivided = "axis::not-divided",
        "From the first station in whole steps the last one is not reached. Either the length or the step is wrong, or the run is meant to stop at the last station that fits: `up to`.";
    AxisTwice = "axis::twice",
        "The same station stands twice on one axis. A first station read again at the end is `closing`; several readings in one place are `times`.";
    AxisStep = "axis::step",
        "Stations in steps need a step above zero, an end that lies beyond the beginning, and a number of stations that a person can read.";
    AxisMixed = "axis::mixed",
        "The stations of an axis are of one kind: all of them words, or all of them positions of one dimension.";
    AxisBelow = "axis::below",
        "Lines are asked in the order they stand. A layout that uses an answer must stand below the question.";
    AxisLaidOut = "axis::laid-out",
        "The value has one element for every station, and a single one is wanted here. Pick a station, take them together (mean, greatest, range), or write `every` or `any` before a condition.";
    AxisNotLaidOut = "axis::not-laid-out",
        "The value is a single one, and something is done with it that goes over several stations.";
    AxisTooFew = "axis::too-few",
        "The function needs more stations than are laid out: a line through one point can be any line.";
    AxisNoPositions = "axis::no-positions",
        "A line, a slope or a window needs to know how far apart the stations are. Stations that are words have no distance.";
    AxisNotStepped = "axis::not-stepped",
        "Heights are added up from a level that is stepped along, each foot beginning where the last one ended: `stepped by 125 mm`. This axis is not laid out like that.";
    AxisNotAPair = "axis::not-a-pair",
        "`machine` and `artefact` take a reversal apart, so the axis has exactly two stations: before and after the turn. `backlash` compares two directions: there and back.";
    AxisNotClosing = "axis::not-closing",
        "Closure compares the first station with the same station read again at the end; its layout says `closing`.";
    AxisSayHow = "axis::say-how",
        "The figure is worked out in more than one way in the trade, with different results: a line through the ends, the line of least squares, the narrowest zone. None of them is taken for granted.";
    AxisSameAngle = "axis::same-angle",
        "An angle is read once in a turn: 0 deg and 360 deg are the same place, and reading it twice would give it double weight. To see whether the first reading comes back, write `closing`.";
    AxisIndexings = "axis::indexings",
        "To part the bore from the bar, the bar is taken out and put back turned by equal parts of a turn, most often 0, 90, 180 and 270 degrees. Then what belongs to the bar goes round and what belongs to the bore stays.";
    AxisNotASurface = "axis::not-a-surface",
        "Flatness, and ordinates of a surface, go over two lengths: a grid laid out by two `over` lines, or the heights that `plate_map` makes of a survey. Feet that are to carry a stand must not all stand on one line.";
    AxisSurvey = "axis::survey",
        "A survey of eight lines goes along the two diagonals, the four sides and the two middle lines of a rectangle. Each of them must be a whole number of feet, and the middles must stand at the end of a foot: both sides an even number of feet and the diagonals a whole number, as 8 by 6 feet with diagonals of 10.";
    AxisNotASurvey = "axis::not-a-survey",
        "`plate_map` makes heights of a reading that was stepped along the lines of a survey.";
    AxisPositioning = "axis::positioning",
        "The figures of ISO 230-2 rest on the scatter at each target: several runs (`times 5`), to several targets (`over target ...`), from one direction or from both (`over approach plus, minus`). The reversal value and the range of the mean deviation compare the two directions.";
    // ---- table
    TableUnreachable = "table::unreachable",
        "Tables are read from the top down and the first row that holds is taken. A row that no machine can reach is a limit that is never used, most often because two rows stand in the wrong order.";
    TableGap = "table::gap",
        "There are machines for which the table has no row. On the walk the step would be invalid and name the fact; it never passes. Add the row, or narrow the range of the fact.";
    TableColumns = "table::columns",
        "Every row has one value for every column of the table.";
    TableUnknownColumn = "table::unknown-column",
        "The table has several columns, or none of this name. A column is written TABLE.COLUMN.";
    TableArgument = "table::argument",
        "A table that goes `over` a length is given that length in brackets; one that does not is used by its name.";
    TableNotOver = "table::not-over",
        "A row says `up to` or `every further`, and the table does not say of what: `over length in mm` is missing behind its title.";
    TableFurther = "table::further",
        "`every further ... or part adds ...` goes on from the last `up to` with the very same condition, and adds for each begun part above zero.";
    TableEmpty = "table::empty",
        "A table without rows limits nothing. Its rows stand beneath it: `when class is general then 0.02 mm`.";
    // ---- flow
    FlowNoTitle = "flow::no-title",
        "A file says what it proves: procedure \"Bench lathe: spindle and level after rebuild\". The title stands on the record and in the report.";
    FlowNoDecision = "flow::no-decision",
        "How a value is judged against a limit is agreed beforehand and stands on the record. `decide simple` compares the value itself; `decide guarded U` and `decide guarded 95 %` leave room for the uncertainty.";
    FlowNewerLanguage = "flow::newer-language",
        "The file is written in a later version of the language than this program knows. It is not guessed at.";
    FlowLateLine = "flow::late-line",
        "Lines that speak for the whole file stand above the first section or step, where a reader looks for them.";
    FlowValueCycle = "flow::value-cycle",
        "Values need each other in a circle, so that none of them can be worked out first. The path is shown.";
    FlowNeedsCycle = "flow::needs-cycle",
        "Steps wait for each other in a circle, so that none of them could ever begin. `needs`, `keeps` and every name of another step's result count.";
    FlowRepeatsCycle = "flow::repeats-cycle",
        "Steps repeat each other, and none of them has lines of its own to begin with; or repeats pile up beyond all use.";
    FlowLaterStep = "flow::later-step",
        "A step waits for one that stands below it. It will be offered out of order; whoever follows the file from top to bottom stumbles there.";
    FlowPoweredUnconfirmed = "flow::powered-unconfirmed",
        "A step that runs the machine asks beforehand whether bar, key and spanners are out and guards are closed: a `confirm` line that must be answered yes. Common practice, no source; local codes and the maker's instructions come first.";
    FlowTextTooEarly = "flow::text-too-early",
        "A text names a value that is not there yet when the text is shown, so there would be a hole in the sentence. Questions and set-ups name what is known above; a remedy that speaks of another step's result needs that step done.";
    FlowUnjudged = "flow::unjudged",
        "A reading or a result is neither judged nor reported nor used. Either a tolerance was forgotten, or it is meant for the record: `report NAME` says so.";
    FlowNothingToDo = "flow::nothing-to-do",
        "A step in which nothing is read, observed, confirmed or judged proves nothing; neither does a procedure without steps.";
    FlowUnusedMethod = "flow::unused-method",
        "A method is a pattern of a step; its lines are checked in the steps that follow it. One that no step follows is text that nobody has looked at.";
    FlowTriesUnjudged = "flow::tries-unjudged",
        "`tries` counts how often a failed step may be adjusted and tried again. A step without a tolerance cannot fail.";
    // ---- rule
    RuleBoundsCross = "rule::bounds-cross",
        "The lower bound lies above the upper one, or a width is below zero, so that no value can ever pass.";
    RuleTooFine = "rule::too-fine",
        "An instrument should read a fifth of the limit or finer (common practice, no source); a coarser one hardly tells a pass from a fail. Take a finer instrument, or know what you are doing.";
    RulePercentWithin = "rule::percent-within",
        "`within 5 % of y` can be read as within a twentieth of y from zero. Write what is meant: `within 0.05 * y of y`.";
    RulePer = "rule::per",
        "A limit is stated per a length above zero: `per 300 mm over` the length that was measured.";
    RuleWindow = "rule::window",
        "A window (`in any 250 mm`) slides along the one length over which the value is laid out, and has a length itself.";
    RuleNoWindow = "rule::no-window",
        "`where` names the worst window of a tolerance, and this one has no window.";
    RuleConvex = "rule::convex",
        "Convex and concave speak of departures from a line: a result made by `ordinates(... over place by ends)`. Readings as they stand still contain the tilt of the whole.";
    RuleHumpFromZero = "rule::hump-from-zero",
        "The hump is the greatest ordinate and never below zero, so `from 0` forbids nothing and a hollow bed passes. If only a hump is allowed, judge the ordinates with `convex`.";
    RuleEveryOrAny = "rule::every-or-any",
        "The value has one element for every station. Whether all of them must meet the rule or one is enough has to be said.";
    RuleByName = "rule::by-name",
        "Tolerances, reports, `aim`, `previous` and `outside` speak of a reading or a result by its name, because that name stands on the record. Give an expression a name with `let`.";
    RuleNoTolerance = "rule::no-tolerance",
        "`x outside` holds when a tolerance on x has failed. No tolerance judges this value, so it would never hold.";
    RuleNoBand = "rule::no-band",
        "`aim` is the middle of the one two-sided band (`from .. to`, `within`) that is in force on a value. Here there is none, or more than one.";
    RuleNoUncertainty = "rule::no-uncertainty",
        "A guarded decision keeps the uncertainty away from the limit, and nothing in the file says how large it is. A guard band of zero would pass what nobody can tell: state it with the instrument, or decide simply.";
    RuleCannotDecide = "rule::cannot-decide",
        "With the instruments of the file the expanded uncertainty is so large that no reading could pass the limit, whatever the machine is like. The figure is worked out for a machine without error. Take a finer instrument or more readings, or agree a wider limit.";
    RuleCancels = "rule::cancels",
        "All that is stated of the instruments drops out of the result (as a zero error does in a difference), so that its uncertainty would be nothing at all. Something is missing: mostly the `resolution` or the `fresh` part of an instrument.";
    // ---- values
    ValueImpossible = "value::impossible",
        "The figures that stand in the file have no result together: a division by zero, the root of a negative number, the tangent of a right angle. No reading will change that; look for a slip in the figures.";
    // ---- series
    SeriesDuration = "series::duration",
        "A series needs a time between its readings and a longer time for all of it: `every 10 min for at most 2 h`. A span of time (`within 30 min`, `for 30 min`) is above zero.";
    SeriesAlone = "series::alone",
        "`until` ends a series and `with` asks something in each of its rows. Both need a reading with a line such as `every 10 min for at most 2 h`.";
    SeriesLayout = "series::layout",
        "Each row of a series must have the same stations, and its rows stand at their own times. So its repeats are a fixed number, sets of it are not averaged, and it is not joined: a broken series begins again.";
    SeriesNoTime = "series::no-time",
        "`change`, `rate`, `settles_at`, `time_constant` and `steady` go along the times of a series. The value has none: read it with `every 10 min for at most 2 h`, or leave its axis `time` in place.";
    SeriesTooShort = "series::too-short",
        "The series ends before the span that is asked for is covered, so the rule could never be met. Let the series run longer, or ask for a shorter span.";
    SeriesProjection = "series::projection",
        "A projection says where a value seems to be going. It helps to decide whether to wait or to stop; it is never a measurement, so no rule, condition or cross-check takes it. Report it, show it in a remedy, and judge what was read.";
    SeriesJoin = "series::join",
        "A broken series is joined through stations that are read again: `join on 2 stations within 0.001 mm`. It takes at least two of them, since one alone cannot show whether they agree, and a reading that is laid out over more.";
    SeriesRow = "series::row",
        "In a worked example a row of a series stands at its time: `enter RUN.temp at 30 min = 20.1, 20.0`. What is no series has no time. On a walk rows stand at their real times, so a procedure names only the `first` and the `last` of them.";
    // ---- include
    IncludeUnreadable = "include::unreadable",
        "A library that the file includes is not there, or cannot be read as text. Its name is that of a file as seen from the folder of the one that includes it.";
    IncludeOutside = "include::outside",
        "A procedure and all that it includes lie in one folder and the folders beneath it, so that it can be copied as one thing and reads nothing else of the computer.";
    IncludeCycle = "include::cycle",
        "Libraries include each other in a circle, so that none of them could be read to its end. The path is shown.";
    IncludeNotALibrary = "include::not-a-library",
        "What several procedures share is a `library`; it cannot be walked. A procedure with its own title and decision cannot be a part of another one: move what is shared into a library, and include that in both.";
    // ---- kit
    KitOutOfPlace = "kit::out-of-place",
        "A kit holds the instruments of one shop and nothing else; a procedure is written for every shop and says only what kind of instrument it needs. Each has its own file, and the walk brings them together: bedway walk FILE --kit KIT.";
    KitEmpty = "kit::empty",
        "A kit without a gauge offers nothing. Each instrument stands in it by its number: gauge \"DI-07\" is dial.";
    KitTwice = "kit::twice",
        "A gauge states each thing once. Of two calibration dates or two resolutions nobody can tell which holds; after a new calibration the old lines are replaced.";
    KitNoDate = "kit::no-date",
        "An instrument past its calibration date is an exception on the record, and one without a date can never be told to be past it. Write the date of the certificate. What needs no calibration is used as it is, and this warning may stand.";
    // ---- example
    ExampleEntry = "example::entry",
        "A line of an example enters or expects what can never be an answer: a word for a number, a unit of another kind, a value that is worked out and not read.";
    WrongResult = "example::wrong-result",
        "A worked example expects one value, and the readings it gives lead to another. Work it out by hand: either the example is wrong, or the procedure computes something else than its author means.";
    WrongState = "example::wrong-state",
        "A worked example expects a verdict or a state that does not come. Either the example is wrong, or a rule does not judge as its author means.";
    ExampleRefused = "example::refused",
        "A line of a worked example would not be taken on the walk, and the example does not say so. Mend the line, or add `expect refused` beneath it if that is what it is to show.";
    ExampleQueried = "example::queried",
        "An entry of a worked example lies outside its usual range, so the walk would ask before it takes it. Add `expect query` beneath it and then `keep \"why\"`, or enter the right value.";
}

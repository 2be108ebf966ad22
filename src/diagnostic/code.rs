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
// `flow` (needs, order, stops), `rule` (tolerances), `example`, `later` (not there yet).
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
    // ---- unit
    UnknownUnit = "unit::unknown",
        "Units are a closed list, so that no number is taken in another unit than meant. Write `um` for micrometre, `thou` for a thousandth of an inch, `degC`, `rpm`, `/min`. A compound unit such as `mm/m` has no blanks; a division has blanks on both sides.";
    // ---- example
    WrongResult = "example::wrong-result",
        "A worked example expects one value, and the readings it gives lead to another. Work it out by hand: either the example is wrong, or the procedure computes something else than its author means.";
    WrongState = "example::wrong-state",
        "A worked example expects a verdict or a state that does not come. Either the example is wrong, or a rule does not judge as its author means.";
    ExampleRefused = "example::refused",
        "A line of a worked example would not be taken on the walk, and the example does not say so. Mend the line, or add `expect refused` beneath it if that is what it is to show.";
    ExampleQueried = "example::queried",
        "An entry of a worked example lies outside its usual range, so the walk would ask before it takes it. Add `expect query` beneath it and then `keep \"why\"`, or enter the right value.";
    // ---- later
    NotYet = "later::not-yet",
        "The line is part of the language, but this version of Bedway does not work it out yet. It is refused rather than passed over, so that no test is believed done that was not.";
}

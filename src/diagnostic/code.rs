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
    // ---- later
    NotYet = "later::not-yet",
        "The line is part of the language, but this version of Bedway does not work it out yet. It is refused rather than passed over, so that no test is believed done that was not.";
}

//! Any bytes at each way into the program: what the fuzz targets try, on input made up from what such text is made of.

use proptest::prelude::*;

#[path = "../fuzz/inputs.rs"]
mod inputs;

/// Pieces of procedures, answers and gauge lines in any order, with noise between them.
fn text() -> impl Strategy<Value = Vec<u8>> {
    let words: Vec<&'static str> = vec![
        "language 1\n",
        "procedure \"p\"\n",
        "decide simple\n",
        "step A \"a\"\n",
        "  read x in mm\n",
        "  unsigned\n",
        "  over place 0 mm to 400 mm by 50 mm\n",
        "  let y \"y\" = ",
        "tolerance ",
        "example \"e\"\n",
        "enter A.x = ",
        "gain(",
        "x over place",
        ")",
        "[",
        "]",
        "{",
        "}",
        "\"",
        "#",
        "\\",
        "\n",
        "\r\n",
        ";",
        ", ",
        " = ",
        "-",
        "+",
        "0.012",
        "1/3",
        "180 deg",
        "mm",
        "degC",
        "not read \"why\"",
        "over 200",
        "skip \"away\"",
        "again A",
        "back",
        "correct A.dial_at[turn 0 deg, place 0 mm] = 0.1 \"x\"",
        "adjust A.shim = 0.01",
        "remeasure",
        "take B",
        "yes",
        "no",
        "note hum",
        "stop \"knock\"",
        "defect \"crack\"",
        "keep \"sure\"",
        "\u{1}01A+00012.345",
        "\u{1}ERR 2",
        "X: -0,004 mm",
        "1E-3",
        "\u{738b}",
        "\u{feff}",
        "\u{0}",
        "{\"seq\":1,\"time\":\"2026-03-02T09:14:07+01:00\"",
    ];
    let piece = prop_oneof![
        6 => prop::sample::select(words).prop_map(|word| word.as_bytes().to_vec()),
        1 => "[ -~\n]{0,12}".prop_map(String::into_bytes),
        1 => prop::collection::vec(any::<u8>(), 0..4),
    ];
    prop::collection::vec(piece, 0..40).prop_map(|pieces| pieces.concat())
}

/// As many as `PROPTEST_CASES` says, for a long run without a nightly compiler.
pub fn cases(else_so_many: u32) -> u32 {
    std::env::var("PROPTEST_CASES").ok().and_then(|cases| cases.parse().ok()).unwrap_or(else_so_many)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(64), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_bytes_upset_a_way_in(bytes in text()) {
        inputs::parse(&bytes);
        inputs::tidy(&bytes);
        inputs::record(&bytes);
        inputs::prompt(&bytes);
        inputs::gauge(&bytes);
    }
}

//! How a serial line is set: `9600 8N1`, as the booklets of such devices have it.

use std::io;
use std::str::FromStr;

use serial2::{CharSize, IntoSettings, Parity, Settings, StopBits};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SerialSettings {
    baud: u32,
    size: CharSize,
    parity: Parity,
    stop: StopBits,
}

impl FromStr for SerialSettings {
    type Err = String;

    fn from_str(typed: &str) -> Result<Self, Self::Err> {
        let wrong = || "type the baud rate and the frame, such as \"9600 8N1\" or \"4800 7E2\"".to_owned();
        let mut words = typed.split([' ', ',']).filter(|word| !word.is_empty());
        let baud = words.next().and_then(|word| word.parse().ok()).filter(|baud| *baud > 0);
        let frame: Vec<char> = words.next().unwrap_or("8N1").to_ascii_uppercase().chars().collect();
        let (Some(baud), None, [size, parity, stop]) = (baud, words.next(), frame.as_slice()) else {
            return Err(wrong());
        };
        let size = match size {
            '5' => CharSize::Bits5,
            '6' => CharSize::Bits6,
            '7' => CharSize::Bits7,
            '8' => CharSize::Bits8,
            _ => return Err(wrong()),
        };
        let parity = match parity {
            'N' => Parity::None,
            'E' => Parity::Even,
            'O' => Parity::Odd,
            _ => return Err(wrong()),
        };
        let stop = match stop {
            '1' => StopBits::One,
            '2' => StopBits::Two,
            _ => return Err(wrong()),
        };
        Ok(Self { baud, size, parity, stop })
    }
}

impl IntoSettings for SerialSettings {
    fn apply_to_settings(self, settings: &mut Settings) -> io::Result<()> {
        settings.set_raw();
        settings.set_baud_rate(self.baud)?;
        settings.set_char_size(self.size);
        settings.set_parity(self.parity);
        settings.set_stop_bits(self.stop);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rate_and_frame_are_read_as_booklets_have_them() {
        let set = |typed: &str| typed.parse::<SerialSettings>();
        let usual = set("9600 8N1").unwrap();
        assert_eq!(set("9600"), Ok(usual));
        assert_eq!(set("9600,8n1"), Ok(usual));
        let other = set("4800 7E2").unwrap();
        assert_eq!((other.baud, other.size, other.parity), (4800, CharSize::Bits7, Parity::Even));
        for bad in ["", "8N1", "9600 9N1", "9600 8X1", "9600 8N1 more", "0 8N1", "-1"] {
            assert!(set(bad).is_err(), "{bad:?}");
        }
    }
}

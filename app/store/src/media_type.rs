//! Which kind of recording a file is, told by its first bytes. What a name or a browser says about
//! a file is never believed.

/// How many first bytes are looked at.
pub const LOOKED_AT: usize = 64;

/// The media type of a recording by its first bytes ([`LOOKED_AT`], or all of a shorter file);
/// `None` for anything that is no recording of a known kind.
#[must_use]
pub fn media_type(start: &[u8]) -> Option<&'static str> {
    let start = &start[..start.len().min(LOOKED_AT)];
    let says = |word: &[u8]| start.windows(word.len()).any(|window| window == word);
    match start {
        [_, _, _, _, b'f', b't', b'y', b'p', brand @ ..] => base_media(brand.get(..4)?),
        // QuickTime files from before there were brands begin with any of these boxes.
        [_, _, _, _, b'm', b'o', b'o', b'v', ..]
        | [_, _, _, _, b'm', b'd', b'a', b't', ..]
        | [_, _, _, _, b'w', b'i', b'd', b'e', ..] => Some("video/quicktime"),
        [0x1a, 0x45, 0xdf, 0xa3, ..] if says(b"webm") => Some("video/webm"),
        [0x1a, 0x45, 0xdf, 0xa3, ..] if says(b"matroska") => Some("video/x-matroska"),
        [b'R', b'I' | b'F', b'F' | b'6', b'F' | b'4', _, _, _, _, b'W', b'A', b'V', b'E', ..] => {
            Some("audio/wav")
        }
        [b'O', b'g', b'g', b'S', ..] if says(b"theora") => Some("video/ogg"),
        [b'O', b'g', b'g', b'S', ..] => Some("audio/ogg"),
        [b'I', b'D', b'3', ..] => Some("audio/mpeg"),
        // A frame of MPEG sound: eleven bits set, then version, layer 3 (01), and a bit rate and a
        // sampling rate that are not "bad" (ISO/IEC 11172-3, 2.4.2.3).
        [0xff, second, third, _, ..]
            if second & 0xe0 == 0xe0
                && second & 0x18 != 0x08
                && second & 0x06 == 0x02
                && third & 0xf0 != 0xf0
                && third & 0x0c != 0x0c =>
        {
            Some("audio/mpeg")
        }
        _ => None,
    }
}

/// Files of ISO/IEC 14496-12 by their main brand; pictures of telephones share the form.
fn base_media(brand: &[u8]) -> Option<&'static str> {
    match brand {
        b"M4A " | b"M4B " => Some("audio/mp4"),
        b"qt  " => Some("video/quicktime"),
        b"heic" | b"heix" | b"hevc" | b"mif1" | b"msf1" | b"avif" | b"avis" | b"crx " => None,
        _ => Some("video/mp4"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn recordings_are_known_by_their_bytes() {
        let known: [(&[u8], &str); 11] = [
            (b"\0\0\0\x20ftypisom\0\0\x02\0", "video/mp4"),
            (b"\0\0\0\x20ftypM4A \0\0\0\0", "audio/mp4"),
            (b"\0\0\0\x14ftypqt  \0\0\0\0", "video/quicktime"),
            (b"\0\0\0\x08wide\0\0\0\x10mdat", "video/quicktime"),
            (b"\x1a\x45\xdf\xa3\x9f\x42\x86\x81\x01\x42\x82\x84webm", "video/webm"),
            (b"\x1a\x45\xdf\xa3\xa3\x42\x86\x81\x01\x42\x82\x88matroska", "video/x-matroska"),
            (b"RIFF\x24\0\0\0WAVEfmt ", "audio/wav"),
            (b"RF64\xff\xff\xff\xffWAVEds64", "audio/wav"),
            (b"OggS\0\x02\0\0\0\0\0\0\0\0", "audio/ogg"),
            (b"ID3\x04\0\0\0\0\0\0", "audio/mpeg"),
            (b"\xff\xfb\x90\x64\0\0\0\0", "audio/mpeg"),
        ];
        for (start, kind) in known {
            assert_eq!(media_type(start), Some(kind), "{start:?}");
        }
    }

    #[test]
    fn anything_else_is_not() {
        let others: [&[u8]; 9] = [
            b"",
            b"\0\0\0",
            b"<!DOCTYPE html><script>alert(1)</script>",
            b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR",
            b"\0\0\0\x18ftypheic\0\0\0\0",
            b"MZ\x90\0\x03\0\0\0",
            b"WEBVTT\n\n00:01.000 --> 00:02.000",
            b"RIFF\x24\0\0\0AVI LIST",
            b"\xff\xff\xff\xff\xff",
        ];
        for start in others {
            assert_eq!(media_type(start), None, "{start:?}");
        }
    }
}

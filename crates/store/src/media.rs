//! What an attachment seems to be, by its first bytes.

use std::fmt;

/// A kind of file that booths attach. Only by this is an attachment ever served, never by what a sender claimed.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[non_exhaustive]
pub enum MediaType {
    /// A JPEG photo.
    Jpeg,
    /// A PNG picture.
    Png,
    /// A WebP picture.
    Webp,
    /// A HEIF or HEIC photo.
    Heif,
    /// A TIFF picture.
    Tiff,
    /// A WAV recording.
    Wav,
    /// A FLAC recording.
    Flac,
    /// An Ogg recording.
    Ogg,
    /// An MP3 recording.
    Mp3,
    /// An MP4 or QuickTime clip or recording.
    Mp4,
    /// A Matroska or WebM clip.
    Matroska,
    /// A PDF.
    Pdf,
    /// Anything else.
    Other,
}

impl MediaType {
    /// How many bytes of the beginning are enough to tell.
    pub(crate) const ENOUGH: usize = 16;

    /// Tells by the signature at the beginning.
    ///
    /// # Reference
    /// The signatures are those of the formats' own specifications: PNG (W3C, section 5.2), JPEG (ITU-T T.81, annex B:
    /// SOI), RIFF/WAVE, FLAC (RFC 9639, section 8.1), Ogg (RFC 3533, section 6), WebP (RFC 9649, section 2.4), ISO base
    /// media (ISO/IEC 14496-12: `ftyp`), Matroska (RFC 9559 / EBML RFC 8794), PDF (ISO 32000, 7.5.2), TIFF 6.0.
    pub fn of(beginning: &[u8]) -> Self {
        let at = |from: usize, signature: &[u8]| {
            beginning.get(from..from + signature.len()).is_some_and(|bytes| bytes == signature)
        };
        match () {
            () if at(0, b"\xFF\xD8\xFF") => Self::Jpeg,
            () if at(0, b"\x89PNG\r\n\x1A\n") => Self::Png,
            () if at(0, b"RIFF") && at(8, b"WEBP") => Self::Webp,
            () if at(0, b"RIFF") && at(8, b"WAVE") => Self::Wav,
            () if at(4, b"ftyp") => Self::of_brand(beginning.get(8..12).unwrap_or_default()),
            () if at(0, b"II*\0") || at(0, b"MM\0*") => Self::Tiff,
            () if at(0, b"fLaC") => Self::Flac,
            () if at(0, b"OggS") => Self::Ogg,
            () if at(0, b"ID3") || at(0, b"\xFF\xFB") || at(0, b"\xFF\xF3") => Self::Mp3,
            () if at(0, b"\x1A\x45\xDF\xA3") => Self::Matroska,
            () if at(0, b"%PDF-") => Self::Pdf,
            () => Self::Other,
        }
    }

    /// Tells a HEIF photo (ISO/IEC 23008-12, annex B) from a clip by the ISO base media brand.
    fn of_brand(brand: &[u8]) -> Self {
        match brand {
            b"heic" | b"heix" | b"mif1" | b"msf1" | b"hevc" => Self::Heif,
            _ => Self::Mp4,
        }
    }

    /// Returns the media type as HTTP writes it.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
            Self::Webp => "image/webp",
            Self::Heif => "image/heif",
            Self::Tiff => "image/tiff",
            Self::Wav => "audio/wav",
            Self::Flac => "audio/flac",
            Self::Ogg => "audio/ogg",
            Self::Mp3 => "audio/mpeg",
            Self::Mp4 => "video/mp4",
            Self::Matroska => "video/matroska",
            Self::Pdf => "application/pdf",
            Self::Other => "application/octet-stream",
        }
    }

    /// Returns whether a page can show it as a picture in every common browser.
    pub fn is_picture(self) -> bool {
        matches!(self, Self::Jpeg | Self::Png | Self::Webp)
    }
}

impl fmt::Display for MediaType {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

//! Gzip and zip, opened within bounds.

use super::fault::FormatError;
use super::gather::{FileBytes, LIMIT_MIB, MOST_FILES};
use super::kind::{self, Kind};
use super::long_line::{self, Ended};
use config::nearest::nearest;
use std::io::{Cursor, Read};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use zip::ZipArchive;

/// Largest sound ratio of unpacked to packed bytes. Deflate reaches 1032 on one repeated byte
/// (zlib's technical notes); sheets of counts stay below 60 (measured on this project's own files).
const MOST_TIMES: u64 = 250;

/// Unpacked bytes below which no ratio matters.
const HARMLESS: u64 = 16 << 20;

/// A file that is no archive, and what it is.
pub(crate) struct Leaf {
    pub(crate) file: FileBytes,
    pub(crate) kind: Kind,
}

/// What may still be unpacked, over all files of a source.
pub(crate) struct Budget {
    left: u64,
}

impl Budget {
    pub(crate) fn new() -> Self {
        Budget {
            left: LIMIT_MIB << 20,
        }
    }

    /// Reads to the end, unless that is more than is left or than `packed` bytes can soundly hold.
    fn read(&mut self, from: impl Read, packed: u64, name: &str) -> Result<Vec<u8>, FormatError> {
        let sound = packed.saturating_mul(MOST_TIMES).max(HARMLESS);
        let most = sound.min(self.left);
        let mut bytes = Vec::new();
        let ended = long_line::read_to_end(from.take(most + 1), &mut bytes);
        let ended = ended.map_err(|e| damaged(name, &format!("it is cut off or damaged ({e})")))?;
        if bytes.len() as u64 > most {
            return Err(self.too_much(name, sound));
        }
        self.left -= bytes.len() as u64;
        match ended {
            Ended::Whole => Ok(bytes),
            Ended::LongLine(line) => {
                let file = name.to_owned();
                Err(FormatError::LongLine { file, line })
            }
        }
    }

    fn too_much(&self, name: &str, sound: u64) -> FormatError {
        let file = name.to_owned();
        if sound < self.left {
            let times = MOST_TIMES;
            return FormatError::Bomb { file, times };
        }
        FormatError::TooLarge {
            file,
            limit_mib: LIMIT_MIB,
        }
    }
}

fn damaged(name: &str, cause: &dyn std::fmt::Display) -> FormatError {
    FormatError::Unreadable {
        file: name.to_owned(),
        what: "an archive",
        why: cause.to_string(),
    }
}

/// What a file's bytes are.
pub(crate) fn kind_of(bytes: &[u8]) -> Kind {
    let members = || {
        let archive = ZipArchive::new(Cursor::new(bytes)).ok();
        let names = archive.iter().flat_map(ZipArchive::file_names);
        names.filter_map(Result::ok).map(Into::into).collect()
    };
    kind::of(bytes, members)
}

/// The files inside a file: itself, what its gzip holds, or the members of its zip that can be
/// read, in the order of their names.
pub(crate) fn leaves(
    file: FileBytes,
    member: Option<&str>,
    budget: &mut Budget,
) -> Result<Vec<Leaf>, FormatError> {
    let name = file.name.clone();
    let opened = catch_unwind(AssertUnwindSafe(|| open(file, member, budget)));
    opened.unwrap_or_else(|_| Err(damaged(&name, &"it is damaged")))
}

fn open(
    file: FileBytes,
    member: Option<&str>,
    budget: &mut Budget,
) -> Result<Vec<Leaf>, FormatError> {
    match kind_of(&file.bytes) {
        Kind::Gzip => Ok(vec![gunzipped(file, budget)?]),
        Kind::Zip => unzipped(&file, member, budget),
        kind => Ok(vec![Leaf { file, kind }]),
    }
}

fn gunzipped(file: FileBytes, budget: &mut Budget) -> Result<Leaf, FormatError> {
    let packed = file.bytes.len() as u64;
    let decoder = flate2::read::MultiGzDecoder::new(&file.bytes[..]);
    let bytes = budget.read(decoder, packed, &file.name)?;
    no_archive(FileBytes {
        name: file.name,
        bytes,
    })
}

fn no_archive(file: FileBytes) -> Result<Leaf, FormatError> {
    match kind_of(&file.bytes) {
        Kind::Gzip | Kind::Zip => Err(FormatError::Nested { file: file.name }),
        kind => Ok(Leaf { file, kind }),
    }
}

fn unzipped(
    file: &FileBytes,
    member: Option<&str>,
    budget: &mut Budget,
) -> Result<Vec<Leaf>, FormatError> {
    let mut archive = archive(file)?;
    let names = members(&archive, &file.name)?;
    let chosen = chosen(names, member, &file.name)?;
    let mut leaves = Vec::new();
    for (place, inside) in chosen {
        let name = format!("{}, {inside}", file.name);
        let bytes = extract(&mut archive, place, &name, budget)?;
        let leaf = FileBytes { name, bytes };
        leaves.push(match kind_of(&leaf.bytes) {
            Kind::Gzip => gunzipped(leaf, budget)?,
            _ => no_archive(leaf)?,
        });
    }
    Ok(leaves)
}

/// The archive's directory, read.
fn archive(file: &FileBytes) -> Result<ZipArchive<Cursor<&[u8]>>, FormatError> {
    let archive = ZipArchive::new(Cursor::new(&file.bytes[..]));
    let archive =
        archive.map_err(|e| damaged(&file.name, &format!("it is cut off or damaged ({e})")))?;
    if archive.len() > MOST_FILES {
        return Err(FormatError::TooManyFiles {
            file: file.name.clone(),
            limit: MOST_FILES,
        });
    }
    Ok(archive)
}

/// Names of the files in an archive.
pub(crate) fn names(file: &FileBytes) -> Result<Vec<String>, FormatError> {
    let members = members(&archive(file)?, &file.name)?;
    Ok(members.into_iter().map(|m| m.1).collect())
}

/// The bytes of the file of that name inside an archive; `name` is its name in messages.
pub(crate) fn member(
    file: &FileBytes,
    inside: &str,
    name: &str,
    budget: &mut Budget,
) -> Result<Option<Vec<u8>>, FormatError> {
    let mut archive = archive(file)?;
    let place = archive.index_for_name(inside);
    let bytes = place.map(|place| extract(&mut archive, place, name, budget));
    bytes.transpose()
}

/// Places and names of the files in the archive.
fn members(
    archive: &ZipArchive<Cursor<&[u8]>>,
    file: &str,
) -> Result<Vec<(usize, String)>, FormatError> {
    let mut members = Vec::new();
    for (place, name) in archive.file_names().enumerate() {
        let name = name.map_err(|e| damaged(file, &e))?;
        if !name.ends_with('/') {
            members.push((place, name.into_owned()));
        }
    }
    members.sort_by(|a, b| a.1.cmp(&b.1));
    Ok(members)
}

/// The member named, or all that can be read.
fn chosen(
    members: Vec<(usize, String)>,
    wanted: Option<&str>,
    file: &str,
) -> Result<Vec<(usize, String)>, FormatError> {
    let file = file.to_owned();
    let Some(wanted) = wanted else {
        // other systems' archives carry their own leftovers
        let taken =
            |m: &(usize, String)| kind::is_taken(Path::new(&m.1)) && !m.1.starts_with("__MACOSX/");
        let taken: Vec<_> = members.into_iter().filter(taken).collect();
        return match taken.is_empty() {
            true => Err(FormatError::NothingInside { file }),
            false => Ok(taken),
        };
    };
    if let Some(found) = members.iter().find(|m| m.1 == wanted) {
        return Ok(vec![found.clone()]);
    }
    let have: Vec<String> = members.into_iter().map(|m| m.1).collect();
    let near = nearest(wanted, have.iter().map(String::as_str)).map(str::to_owned);
    Err(FormatError::NoSuchPart {
        file,
        key: "member",
        wanted: wanted.to_owned(),
        have,
        nearest: near,
    })
}

/// A member's bytes.
fn extract(
    archive: &mut ZipArchive<Cursor<&[u8]>>,
    place: usize,
    name: &str,
    budget: &mut Budget,
) -> Result<Vec<u8>, FormatError> {
    let member = archive.by_index(place).map_err(|e| damaged(name, &e))?;
    let packed = member.compressed_size();
    budget.read(member, packed, name)
}

/// Checks, from a workbook's directory alone, that it does not unpack to what no library could
/// hold. The sizes may be untrue: whoever reads it is bounded besides.
pub(crate) fn check_directory(file: &FileBytes, limit_mib: u64) -> Result<(), FormatError> {
    let mut archive = archive(file)?;
    let mut total = 0_u64;
    for place in 0..archive.len() {
        let member = archive.by_index_raw(place);
        total = total.saturating_add(member.map_err(|e| damaged(&file.name, &e))?.size());
    }
    let name = file.name.clone();
    let sound = (file.bytes.len() as u64).saturating_mul(MOST_TIMES);
    match total {
        t if t > limit_mib << 20 => Err(FormatError::TooLarge {
            file: name,
            limit_mib,
        }),
        t if t > sound.max(HARMLESS) => Err(FormatError::Bomb {
            file: name,
            times: MOST_TIMES,
        }),
        _ => Ok(()),
    }
}

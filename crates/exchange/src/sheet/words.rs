//! The words by which people head their columns and name what a row is: English, German, French, Spanish.
//!
//! Common practice, no source: gathered from how booth sheets are headed. A word that fits two fields stands with
//! the one it means more often; the contents of the column have the last say.

use super::{Field, Sort};

/// Headings, by field. Compared as [`plain`] makes them.
const HEADINGS: &[(Field, &[&str])] = &[
    (
        Field::Date,
        &[
            "date",
            "day",
            "show date",
            "date of showing",
            "datum",
            "tag",
            "vorfuhrdatum",
            "jour",
            "fecha",
            "dia",
            "evening",
            "abend",
            "soir",
            "date and time",
            "datum uhrzeit",
        ],
    ),
    (
        Field::Start,
        &[
            "start",
            "time",
            "starts",
            "start time",
            "from",
            "begin",
            "began",
            "on",
            "curtain",
            "uhrzeit",
            "zeit",
            "beginn",
            "anfang",
            "von",
            "debut",
            "heure",
            "de",
            "inicio",
            "hora",
            "hora de inicio",
            "desde",
        ],
    ),
    (
        Field::End,
        &[
            "end",
            "ends",
            "end time",
            "finish",
            "finished",
            "to",
            "until",
            "off",
            "ende",
            "schluss",
            "bis",
            "fin",
            "heure de fin",
            "a",
            "hasta",
            "hora de fin",
        ],
    ),
    (
        Field::Length,
        &[
            "length",
            "duration",
            "running time",
            "run time",
            "runtime",
            "mins",
            "min",
            "minutes",
            "dauer",
            "laufzeit",
            "spieldauer",
            "lange",
            "minuten",
            "duree",
            "duracion",
            "minutos",
        ],
    ),
    (
        Field::Hours,
        &[
            "hours",
            "hrs",
            "hours run",
            "run hours",
            "running hours",
            "h",
            "std",
            "stunden",
            "betriebsstunden",
            "laufstunden",
            "heures",
            "horas",
        ],
    ),
    (
        Field::Lit,
        &[
            "lamp hours",
            "hours lit",
            "lit",
            "lampenstunden",
            "heures lampe",
            "heures de lampe",
            "horas lampara",
        ],
    ),
    (
        Field::Meter,
        &[
            "meter",
            "hour meter",
            "hours meter",
            "meter reading",
            "counter",
            "hour counter",
            "clock",
            "reading",
            "zahler",
            "zahlerstand",
            "stundenzahler",
            "betriebsstundenzahler",
            "compteur",
            "compteur horaire",
            "contador",
            "horometro",
            "cuentahoras",
        ],
    ),
    (
        Field::Machine,
        &[
            "machine",
            "projector",
            "proj",
            "unit",
            "maschine",
            "projektor",
            "gerat",
            "apparat",
            "projecteur",
            "appareil",
            "maquina",
            "proyector",
        ],
    ),
    (
        Field::Title,
        &[
            "title",
            "film",
            "film title",
            "programme",
            "program",
            "feature",
            "movie",
            "picture",
            "show",
            "titel",
            "filmtitel",
            "programm",
            "vorstellung",
            "titre",
            "seance",
            "pelicula",
            "titulo",
            "programa",
            "funcion",
        ],
    ),
    (
        Field::Place,
        &[
            "place", "venue", "hall", "room", "location", "site", "screen", "ort", "saal", "spielort",
            "raum", "lieu", "salle", "lugar", "sala",
        ],
    ),
    (
        Field::Person,
        &[
            "person",
            "operator",
            "projectionist",
            "by",
            "who",
            "name",
            "initials",
            "crew",
            "vorfuhrer",
            "vorfuhrerin",
            "bediener",
            "wer",
            "kurzel",
            "operateur",
            "projectionniste",
            "qui",
            "operador",
            "proyeccionista",
            "quien",
        ],
    ),
    (
        Field::Work,
        &[
            "work",
            "work done",
            "care",
            "maintenance",
            "service",
            "job",
            "task",
            "action",
            "done",
            "arbeit",
            "arbeiten",
            "wartung",
            "pflege",
            "tatigkeit",
            "reparatur",
            "travaux",
            "entretien",
            "maintenance faite",
            "trabajo",
            "mantenimiento",
            "tarea",
        ],
    ),
    (
        Field::Part,
        &[
            "part",
            "part changed",
            "new part",
            "lamp",
            "lamp changed",
            "lamp change",
            "new lamp",
            "bulb",
            "globe",
            "teil",
            "ersatzteil",
            "lampe",
            "lampenwechsel",
            "neue lampe",
            "piece",
            "piece changee",
            "changement de lampe",
            "pieza",
            "lampara",
            "cambio de lampara",
        ],
    ),
    (Field::Why, &["why", "reason", "cause", "grund", "ursache", "raison", "motif", "motivo", "causa"]),
    (
        Field::Audience,
        &[
            "audience",
            "attendance",
            "people",
            "house",
            "tickets",
            "admissions",
            "besucher",
            "zuschauer",
            "publikum",
            "spectateurs",
            "entrees",
            "publico",
            "espectadores",
            "asistencia",
        ],
    ),
    (
        Field::Note,
        &[
            "note",
            "notes",
            "remark",
            "remarks",
            "comment",
            "comments",
            "bemerkung",
            "bemerkungen",
            "notiz",
            "anmerkung",
            "anmerkungen",
            "remarque",
            "remarques",
            "observations",
            "nota",
            "notas",
            "observaciones",
        ],
    ),
    (
        Field::What,
        &["what", "kind", "type", "sort", "entry", "art", "vorgang", "was", "genre", "quoi", "tipo", "que"],
    ),
];

/// Words in a cell that name what a row is.
const SORTS: &[(Sort, &[&str])] = &[
    (
        Sort::Showing,
        &[
            "showing",
            "show",
            "screening",
            "performance",
            "vorstellung",
            "vorfuhrung",
            "seance",
            "projection",
            "funcion",
            "pase",
        ],
    ),
    (Sort::Run, &["run", "hours", "hours run", "betrieb", "stunden", "marche", "horas"]),
    (Sort::Rehearsal, &["rehearsal", "run through", "probe", "repetition", "ensayo"]),
    (Sort::Test, &["test", "warm up", "testlauf", "essai", "prueba"]),
    (Sort::Rewind, &["rewind", "rewinding", "umrollen", "ruckspulen", "rembobinage", "rebobinado"]),
    (
        Sort::Meter,
        &[
            "meter",
            "meter reading",
            "reading",
            "hour meter",
            "zahlerstand",
            "zahler",
            "compteur",
            "releve",
            "contador",
            "lectura",
        ],
    ),
    (
        Sort::Care,
        &[
            "care",
            "work",
            "service",
            "maintenance",
            "clean",
            "cleaning",
            "wartung",
            "pflege",
            "reinigung",
            "arbeit",
            "entretien",
            "nettoyage",
            "mantenimiento",
            "limpieza",
        ],
    ),
    (
        Sort::Part,
        &[
            "part",
            "lamp",
            "lamp change",
            "lamp changed",
            "new lamp",
            "replacement",
            "lampe",
            "lampenwechsel",
            "teil",
            "tausch",
            "piece",
            "changement de lampe",
            "pieza",
            "cambio de lampara",
        ],
    ),
    (Sort::Reading, &["measurement", "measured", "light", "messung", "mesure", "medida", "medicion"]),
    (Sort::Note, &["note", "remark", "notiz", "bemerkung", "remarque", "nota"]),
];

/// The names of months, from January; a longer form counts too.
const MONTHS: [&[&str]; 12] = [
    &["jan", "janv", "ene"],
    &["feb", "fev", "fevr"],
    &["mar", "marz", "mrz", "maerz", "mars"],
    &["apr", "avr", "abr"],
    &["may", "mai", "mayo"],
    &["jun", "juin"],
    &["jul", "juil"],
    &["aug", "aout", "ago"],
    &["sep", "sept", "set"],
    &["oct", "okt"],
    &["nov"],
    &["dec", "dez", "dic"],
];

/// Whole names whose beginnings are not enough.
const MONTHS_IN_FULL: [&[&str]; 12] = [
    &["january", "januar", "janner", "janvier", "enero"],
    &["february", "februar", "fevrier", "febrero"],
    &["march", "marz", "maerz", "mars", "marzo"],
    &["april", "avril", "abril"],
    &["may", "mai", "mayo"],
    &["june", "juni", "juin", "junio"],
    &["july", "juli", "juillet", "julio"],
    &["august", "aout", "agosto"],
    &["september", "septembre", "septiembre"],
    &["october", "oktober", "octobre", "octubre"],
    &["november", "novembre", "noviembre"],
    &["december", "dezember", "decembre", "diciembre"],
];

/// Beginnings of the names of weekdays.
const WEEKDAYS: &[&str] = &[
    "mo",
    "mon",
    "monday",
    "montag",
    "lun",
    "lundi",
    "lunes",
    "tu",
    "tue",
    "tues",
    "tuesday",
    "di",
    "dienstag",
    "mar",
    "mardi",
    "martes",
    "we",
    "wed",
    "weds",
    "wednesday",
    "mi",
    "mittwoch",
    "mer",
    "mercredi",
    "mie",
    "miercoles",
    "th",
    "thu",
    "thur",
    "thurs",
    "thursday",
    "do",
    "donnerstag",
    "jeu",
    "jeudi",
    "jue",
    "jueves",
    "fr",
    "fri",
    "friday",
    "freitag",
    "ven",
    "vendredi",
    "vie",
    "viernes",
    "sa",
    "sat",
    "saturday",
    "samstag",
    "sonnabend",
    "sam",
    "samedi",
    "sab",
    "sabado",
    "su",
    "sun",
    "sunday",
    "so",
    "sonntag",
    "dim",
    "dimanche",
    "dom",
    "domingo",
];

/// Words that say yes in a column of ticks.
pub(super) const YES: &[&str] =
    &["x", "xx", "yes", "y", "1", "ja", "j", "oui", "o", "si", "s", "true", "done", "✓", "✔"];
/// Words that say no in a column of ticks.
pub(super) const NO: &[&str] = &["no", "n", "0", "nein", "non", "false", "none", "keine", "–", "—", "-"];
/// Words that head a row of sums.
pub(super) const SUMS: &[&str] =
    &["total", "totals", "sum", "summe", "gesamt", "somme", "suma", "subtotal", "zwischensumme"];

/// Returns a text in lower case without accents and punctuation, its words parted by one space.
pub(super) fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars().flat_map(char::to_lowercase) {
        match unaccented(c) {
            Some(letters) => out.push_str(letters),
            None if c.is_alphanumeric() || matches!(c, '✓' | '✔') => out.push(c),
            None if c == '.' || c == '\'' => {}
            None => out.push(' '),
        }
    }
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Returns a text on one line, with single spaces.
pub(super) fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Returns the plain letters for an accented small one of the western European alphabets.
fn unaccented(c: char) -> Option<&'static str> {
    Some(match c {
        'á' | 'à' | 'â' | 'ä' | 'ã' | 'å' => "a",
        'é' | 'è' | 'ê' | 'ë' => "e",
        'í' | 'ì' | 'î' | 'ï' => "i",
        'ó' | 'ò' | 'ô' | 'ö' | 'õ' | 'ø' => "o",
        'ú' | 'ù' | 'û' | 'ü' => "u",
        'ç' => "c",
        'ñ' => "n",
        'ß' => "ss",
        'æ' => "ae",
        'œ' => "oe",
        // What is left of a letter and a combining accent.
        '\u{300}'..='\u{36f}' => "",
        _ => return None,
    })
}

/// Returns the field that a heading names, and whether it is the whole heading that does.
pub(super) fn field_named(heading: &str) -> Option<(Field, bool)> {
    let without_unit = heading.split(['(', '[']).next().unwrap_or_default();
    let wanted = plain(without_unit);
    let whole =
        |text: &str| HEADINGS.iter().find(|(_, words)| words.contains(&text)).map(|(field, _)| *field);
    if let Some(field) = whole(&wanted) {
        return Some((field, true));
    }
    // Longer words first, so that “hour meter 1” is a meter before it is hours.
    let mut parts: Vec<&str> = wanted.split(' ').filter(|part| part.len() > 2).collect();
    parts.sort_by_key(|part| std::cmp::Reverse(part.len()));
    let pairs = wanted.match_indices(' ').filter_map(|(at, _)| two_words_from(&wanted, at));
    pairs.chain(parts).find_map(whole).map(|field| (field, false))
}

/// Returns the word before a space together with the one after it.
fn two_words_from(text: &str, space: usize) -> Option<&str> {
    let start = text.get(..space)?.rfind(' ').map_or(0, |at| at + 1);
    let end = text.get(space + 1..)?.find(' ').map_or(text.len(), |at| space + 1 + at);
    text.get(start..end)
}

/// Returns what a word in a cell says a row is.
pub(super) fn sort_named(cell: &str) -> Option<Sort> {
    let wanted = plain(cell);
    SORTS.iter().find(|(_, words)| words.contains(&wanted.as_str())).map(|(sort, _)| *sort)
}

/// Returns the month that a word names, from 1.
pub(super) fn month_named(word: &str) -> Option<i8> {
    let word = plain(word);
    let named = |names: &[&str]| names.contains(&word.as_str());
    let index = MONTHS
        .iter()
        .position(|names| named(names))
        .or_else(|| MONTHS_IN_FULL.iter().position(|n| named(n)))?;
    i8::try_from(index + 1).ok()
}

/// Tells whether a word names a day of the week.
pub(super) fn is_weekday(word: &str) -> bool {
    WEEKDAYS.contains(&plain(word).as_str())
}

/// Tells whether a text is one of some words.
pub(super) fn is_one_of(text: &str, words: &[&str]) -> bool {
    words.contains(&text.trim()) || words.contains(&plain(text).as_str())
}

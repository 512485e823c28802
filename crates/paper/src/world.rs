//! All that the typesetter can see: built-in templates, built-in fonts, the data of one paper.

use crate::fonts;
use stonewear_report::TypesetError;
use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};

/// The data of a paper, as the templates name it.
const DATA: &str = "paper.json";
/// The logo of a paper, as the templates name it.
const LOGO: &str = "logo";

/// The templates by the names under which they import each other.
pub(crate) const TEMPLATES: [(&str, &str); 5] = [
    ("labels.typ", include_str!("../templates/labels.typ")),
    ("look.typ", include_str!("../templates/look.typ")),
    ("pictures.typ", include_str!("../templates/pictures.typ")),
    ("sheet.typ", include_str!("../templates/sheet.typ")),
    ("test-report.typ", include_str!("../templates/test-report.typ")),
];

/// What stays the same from paper to paper. Made once: templates are read, fonts opened.
pub(crate) struct Shop {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    templates: Vec<Source>,
    data: FileId,
    logo: FileId,
}

impl Shop {
    /// Sets up the templates beside the given fonts.
    pub(crate) fn new(fonts: Vec<Font>) -> Result<Self, TypesetError> {
        let templates = TEMPLATES
            .into_iter()
            .map(|(name, text)| Ok(Source::new(file(name)?, text.to_owned())))
            .collect::<Result<_, TypesetError>>()?;
        Ok(Self {
            library: LazyHash::new(Library::default()),
            book: LazyHash::new(fonts::book(&fonts)),
            fonts,
            templates,
            data: file(DATA)?,
            logo: file(LOGO)?,
        })
    }

    /// The fonts.
    pub(crate) fn fonts(&self) -> &[Font] {
        &self.fonts
    }

    /// The shop with the data and the logo of one paper laid on the bench.
    pub(crate) fn with<'a>(
        &'a self,
        template: &str,
        data: Vec<u8>,
        logo: Option<Vec<u8>>,
    ) -> Result<Bench<'a>, TypesetError> {
        let (main, data) = (file(template)?, Bytes::new(data));
        Ok(Bench { shop: self, main, data, logo: logo.map(Bytes::new) })
    }
}

/// The name of a file inside the shop. Names are fixed: each new one would be kept for the life of
/// the process, and there is room for 65,535 only.
fn file(name: &str) -> Result<FileId, TypesetError> {
    let path = VirtualPath::new(name)
        .map_err(|_| TypesetError::Incomplete(format!("“{name}” is no name for a template")))?;
    Ok(RootedPath::new(VirtualRoot::Project, path).intern())
}

/// One paper in the making.
pub(crate) struct Bench<'a> {
    shop: &'a Shop,
    main: FileId,
    data: Bytes,
    logo: Option<Bytes>,
}

impl World for Bench<'_> {
    fn library(&self) -> &LazyHash<Library> {
        &self.shop.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.shop.book
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        let found = self.shop.templates.iter().find(|source| source.id() == id);
        found.cloned().ok_or(FileError::AccessDenied)
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        let found = match id {
            id if id == self.shop.data => Some(&self.data),
            id if id == self.shop.logo => self.logo.as_ref(),
            _ => None,
        };
        found.cloned().ok_or(FileError::AccessDenied)
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.shop.fonts.get(index).cloned()
    }

    /// There is no clock here: every date on a paper comes from its data.
    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}

//! Requests about the laboratory itself: its people, its methods, what it decides for itself.

use super::Request;

forms! {
    /// Found the laboratory, with its first person.
    FoundLaboratory {
        /// Name of the laboratory.
        name: String,
        /// Postal address.
        address: String,
        /// Initials of the person who founds it.
        founder_code: String,
        /// Their name.
        founder_name: String,
        /// Time zone of the laboratory, like `Europe/Madrid`; empty for universal time.
        time_zone: String,
        /// `yes` when everything in it is invented.
        invented: String,
    }
    /// Add a person.
    AddPerson {
        /// Initials.
        code: String,
        /// Name.
        name: String,
        /// What they may do: `test`, `release`, `manage`.
        rights: Vec<String>,
    }
    /// Change what a person may do.
    SetRights {
        /// Initials.
        person: String,
        /// What they may do from now on: `test`, `release`, `manage`.
        rights: Vec<String>,
        /// On what grounds.
        reason: String,
    }
    /// Take an edition of a method into use.
    AdoptMethod {
        /// The method: `astm-d6928` or `astm-d6928@2010`.
        method: String,
    }
    /// Confirm or correct a number of a method against the laboratory's own copy.
    ConfirmFigure {
        /// The method in use.
        method: String,
        /// Which number: `water.volume_l.tolerance`.
        figure: String,
        /// The corrected value; empty to confirm the value as it is.
        value: String,
        /// Which copy it was compared with.
        against: String,
        /// More numbers, compared in the same sitting.
        more: Vec<ComparedFigure>,
    }
    /// Decide a policy: what the laboratory decides where methods and standards leave it open.
    SetPolicy {
        /// Its name: `decision-rule`.
        policy: String,
        /// Its value from now on: `guarded`.
        value: String,
        /// On what grounds.
        reason: String,
    }
    /// Record what an experiment of the laboratory says about how the loss follows a condition.
    RecordSensitivity {
        /// The condition: `revolutions`, `charge`, `water-temperature`.
        condition: String,
        /// The method it holds for.
        method: String,
        /// Percent of the loss per 1 % more revolutions or charge, or per 1 °C warmer water.
        percent_of_loss: String,
        /// Its expanded uncertainty (k = 2), in the same unit.
        uncertainty: String,
        /// The experiment: where its record is.
        experiment: String,
    }
}

crate::request::described! {
    /// One of several numbers that were compared with the laboratory's own copy. It is passed over
    /// while nothing says that it was compared.
    ComparedFigure {
        /// Which number: `water.volume_l.tolerance`.
        figure: String,
        /// Anything, where the copy says the same.
        same: String,
        /// The corrected value, where the copy says another.
        value: String,
        /// Which copy or clause, where it is another than that of the whole request.
        against: String,
    }
}

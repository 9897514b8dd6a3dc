"""Works that are whole steps: what is asked of a person before each, and what it comes to."""

from __future__ import annotations

from daq.acquire.passes.record import check_room
from daq.daemon.question import Question
from daq.daemon.results import StepDone
from daq.daemon.work import CheckRigWork, LagWork, RailWork, ScanWork, Work
from daq.documents.calibration_lag import lag_answer
from daq.documents.calibration_rail import rail_answer
from daq.documents.health import health_document
from daq.errors import FileError
from daq.files.rig import RigFile
from daq.reading.settings import rod_setting
from daq.steps.calibrate_lag import calibrate_lag
from daq.steps.calibrate_rail import calibrate_rail
from daq.steps.checking import check
from daq.steps.rail_straightedge import STRAIGHTEDGE_UM, by_straightedge
from daq.steps.recording import Operator
from daq.steps.scan import Asked, scan_neck, scan_passes
from daq.text.calibration_lag import lag_sentences
from daq.text.calibration_rail import rail_sentences
from daq.text.cautions import DEFER, caution_before_motion, caution_rod, caution_strings
from daq.text.health import health_sentences
from daq.text.rod_words import setting_sentence, setting_words
from daq.workshop.place import Workshop

UNANSWERED = "nobody said that the carriage may move"


def first_question(work: Work, rig: RigFile, workshop: Workshop) -> Question | None:
    """What a person is shown before a whole step begins, with the terminal's cautions; None for
    what a command asks for, which has shown them itself.

    Raises what speaks against the step before anything moves, as the step does.
    """
    match work:
        case ScanWork():
            return _go_on(*_before_scan(work, rig, workshop))
        case RailWork():
            return _go_on("The straightedge lies along the rail, at y = 0.")
        case LagWork():
            return _go_on("What lies on the rig is scanned at two speeds.")
        case CheckRigWork() if rig.carriage.drive == "motor":
            return _go_on(
                f"The rig stands still for {work.still_s:g} s: do not touch it. Then the carriage "
                "goes along its whole travel and back: clear its way."
            )
        case _:
            return None


def _go_on(what: str, *cautions: str) -> Question:
    """Whose rules come first is said once."""
    said = (one.removesuffix(DEFER).rstrip() for one in (caution_before_motion(), *cautions))
    return Question(" ".join((what, *said, DEFER, "Go on?")), UNANSWERED)


def _before_scan(work: ScanWork, rig: RigFile, workshop: Workshop) -> tuple[str, ...]:
    """What is to be scanned, and the cautions that go with it."""
    job = workshop.job(work.job)
    setting = rod_setting(job, work.rod_turns)
    path = job.next_scan_path(work.state, work.label)
    passes = scan_passes(rig, job.instrument(), work.state)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(f"{path.parent}: cannot be made ({error.strerror})") from error
    check_room(rig, passes, path)
    rod = setting_words(setting.turns)
    what = f"The neck of {job.name} lies on the rig, {work.state}; its rod stands {rod}."
    if work.state == "strung":
        return what, caution_strings()
    return (what, caution_rod()) if setting.changed else (what,)


def scan_step(work: ScanWork, workshop: Workshop, operator: Operator) -> StepDone:
    """As `neckform scan`."""
    job = workshop.job(work.job)
    setting = rod_setting(job, work.rod_turns)
    asked = Asked(work.state, work.label, setting)
    made = scan_neck(workshop, job, operator.rig.rig_file, asked, operator)
    rod = setting_sentence(setting)
    return StepDone({"path": str(made.path), "caution": made.caution, "rod": rod})


def rail_step(work: RailWork, workshop: Workshop, operator: Operator) -> StepDone:
    """As `neckform calibrate rail --reference straightedge`."""
    um = STRAIGHTEDGE_UM if work.straightedge_um is None else work.straightedge_um
    measure = by_straightedge(um)
    done = calibrate_rail(workshop, operator.rig.rig_file, measure, operator, celsius=work.celsius)
    return StepDone({"sentences": rail_sentences(done), "document": rail_answer(done)})


def lag_step(workshop: Workshop, operator: Operator) -> StepDone:
    """As `neckform calibrate lag`."""
    done = calibrate_lag(workshop, operator.rig.rig_file, operator)
    return StepDone(
        {
            "sentences": lag_sentences(done.found, done.path),
            "document": lag_answer(done.found, done.path, done.scan_path),
        }
    )


def check_step(work: CheckRigWork, workshop: Workshop, operator: Operator) -> StepDone:
    """As `neckform rig check` that may drive."""
    rig = operator.rig.rig_file
    store = workshop.calibrations(rig.name)
    done = check(operator.rig, store, work.still_s, over_pads=True)
    return StepDone(
        {
            "sentences": health_sentences(rig, done.health, done.fitness),
            "document": health_document(rig.name, done.health, done.fitness),
        }
    )

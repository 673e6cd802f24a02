"""The films of a shelf on a case's carriage, at every force, and which of them may be used."""

from __future__ import annotations

from woold.case.design import Design
from woold.case.film import Film
from woold.case.model import Case
from woold.dancer.case_dancer import choices_of, springs_of
from woold.dancer.results import SpringRow
from woold.dancer.springs import spring_rows
from woold.design.candidate import Relaxed
from woold.design.settings import film_names, with_film
from woold.errors import WooldError
from woold.prediction.film_on_load import Lacing, films_at_forces, lacing_of
from woold.prediction.result import FilmOnLoad

__all__ = ["Films"]

_Laid = tuple[tuple[Case, FilmOnLoad], ...]


class Films:
    """Films to choose from, laid once and kept.

    Args:
        case: the case.
        shelf: the films, today's first.
        limits: limits on film, grip and dancer.
    """

    def __init__(self, case: Case, shelf: tuple[Film, ...], limits: Design) -> None:
        self.case, self.shelf, self.limits = case, shelf, limits
        self.names = film_names(shelf)
        self._laid: dict[tuple[int, float, tuple[float, ...]], _Laid] = {}
        self._lacing: Lacing | None = None
        self._springs: dict[float, SpringRow | None] = {}
        self._held: dict[float, bool] = {}
        self._last: SpringRow | None = None

    def at_forces(self, place: int, prestretch: float, forces: tuple[float, ...]) -> _Laid:
        """A film on the load at every force; none where the carriage cannot run it."""
        key = (place, prestretch, forces)
        if key not in self._laid:
            case = with_film(self.case, self.shelf[place])
            case = case.with_values({"carriage.prestretch": prestretch})
            try:
                # No film and no pre-stretch changes its way round the rollers.
                self._lacing = self._lacing or lacing_of(case)
                sheets = films_at_forces(case, forces, self._lacing)
            except WooldError:
                sheets = ()
            self._laid[key] = tuple(
                (case.with_values({"program.force_to_load": force}), sheet)
                for force, sheet in zip(forces, sheets, strict=False)
            )
        return self._laid[key]

    def stress_share(self, case: Case, sheet: FilmOnLoad) -> float:
        """Peak tension over the film's drawing force [-]."""
        return case.program.force_to_load * self.limits.tension_peak / sheet.drawing_force

    def may_be_used(self, case: Case, sheet: FilmOnLoad, relaxed: Relaxed) -> bool:
        """Whether a film at a force keeps every limit that does not depend on the program.

        Args:
            case: the case with this film, pre-stretch and force.
            sheet: the film on the load.
            relaxed: limits to leave out.
        """
        film, dancer = case.film, self.case.dancer
        margin = min(sheet.margin_slow, sheet.margin_fast) - 1.0
        least_margin = self.limits.grip_margin
        broken = {
            "rated pre-stretch": film.rated_prestretch is not None
            and sheet.geared > film.rated_prestretch * (1.0 + 1e-12),
            "elongation at break": sheet.breaks,
            "grip": not sheet.is_drawn or (least_margin is not None and margin < least_margin),
            "film stress": self.stress_share(case, sheet) > 1.0 - self.limits.film_margin,
        }
        if any(is_so and name not in relaxed for name, is_so in broken.items()):
            return False
        # Last, since it takes longest.
        has_springs = dancer is not None and bool(dancer.springs) and "dancer travel" not in relaxed
        return not has_springs or self.dancer_holds(case.program.force_to_load)

    def dancer_holds(self, force: float) -> bool:
        """Whether a spring in its hole holds a force.

        Args:
            force: force to load [N].
        """
        if force not in self._held:
            # What held the force before mostly holds the next one too, and is soon looked at.
            self._held[force] = self._last_holds(force) or self.dancer_choice(force) is not None
        return self._held[force]

    def _last_holds(self, force: float) -> bool:
        if self._last is None or self.case.dancer is None:
            return False
        spring = springs_of(self.case.dancer)[self._last.spring - 1]
        dancer = self.case.dancer.model_copy(update={"holes": (self._last.hole_m,)})
        case = self.case.with_values({"program.force_to_load": force})
        return choices_of(case, dancer, (spring,))[0].fits

    def dancer_choice(self, force: float) -> SpringRow | None:
        """The spring and hole that hold a force; the best that fits where neither is given.

        Args:
            force: force to load [N].
        """
        if force not in self._springs:
            case = self.case.with_values({"program.force_to_load": force})
            dancer = self.case.dancer
            assert dancer is not None
            rows = (
                row
                for row in spring_rows(case)
                if row.fits
                and dancer.spring in (None, row.spring)
                and dancer.hole in (None, row.hole_m)
            )
            self._springs[force] = next(rows, None)
            self._last = self._springs[force] or self._last
        return self._springs[force]

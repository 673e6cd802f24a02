"""The line's file and its catalogue of loads: what is taken, what is asked, what is refused."""

from __future__ import annotations

from pathlib import Path

import polars
import pytest

from woold.errors import InputError, Question
from woold.line.catalogue import read_catalogue
from woold.line.check import check_line
from woold.line.line_file import LineFile, read_line
from woold.line.starter import starter_text
from woold.line.things import LineChoice, case_of, recipe_for

HEAD = "load,length [mm],width [mm],height,mass_kg,hold [N],loads_per_year,machine,film\n"
ROW = "L{n},1200,1000,1.5 m,600,40,100,line 1,thin film\n"


def line_text(loads: str = "") -> str:
    """The starter, without its own load where a table of loads is named."""
    text = starter_text()
    if loads:
        text = text[: text.index("\n[[loads]]")].replace(
            '# file = "loads.csv"', f'file = "{loads}"'
        )
    return text


def written_line(folder: Path, rows: str | None = None, text: str = "") -> LineFile:
    if rows is not None:
        (folder / "loads.csv").write_text(HEAD + rows, encoding="utf-8")
    path = folder / "line.toml"
    path.write_text(text or line_text("loads.csv" if rows is not None else ""), encoding="utf-8")
    return read_line(path)


def problems(error: pytest.ExceptionInfo[InputError]) -> str:
    return "\n".join(str(each) for each in error.value.problems)


def test_starter_is_a_line_of_one_load(tmp_path: Path) -> None:
    line = written_line(tmp_path)
    catalogue = read_catalogue(line)
    (load,) = catalogue.loads
    assert (load.name, load.machine, load.loads_per_year) == ("jars", "line 1", 60000.0)
    assert check_line(line, catalogue).combinations == 1


def test_units_may_stand_in_headings_or_cells(tmp_path: Path) -> None:
    line = written_line(tmp_path, ROW.format(n=1))
    (load,) = read_catalogue(line).loads
    assert (load.load.length, load.load.width, load.load.height, load.load.mass) == (
        pytest.approx(1.2),
        pytest.approx(1.0),
        1.5,
        600.0,
    )
    assert load.hold.targets[0].force == 40.0


def test_pounds_and_inches_are_read_as_such(tmp_path: Path) -> None:
    # The international pound is 0.45359237 kg and the inch 25.4 mm (agreement of 1959).
    (tmp_path / "loads.csv").write_text(
        "load,length [in],width_in,height (in),mass [lb],loads_per_year\nA,48,40,60,1000,10\n",
        encoding="utf-8",
    )
    path = tmp_path / "line.toml"
    path.write_text(line_text("loads.csv"), encoding="utf-8")
    (load,) = read_catalogue(read_line(path)).loads
    assert load.load.length == pytest.approx(1.2192)
    assert load.load.mass == pytest.approx(453.59237)


def test_parquet_is_read_as_csv_is(tmp_path: Path) -> None:
    polars.DataFrame(
        {"load": ["A"], "length_m": [1.2], "width_m": [1.0], "height_m": [1.5], "mass_kg": [600],
         "loads_per_year": [10], "hold_N": [None]}
    ).write_parquet(tmp_path / "loads.parquet")  # fmt: skip
    path = tmp_path / "line.toml"
    path.write_text(line_text("loads.parquet"), encoding="utf-8")
    (load,) = read_catalogue(read_line(path)).loads
    assert (load.load.length, load.load.mass, load.hold.targets) == (1.2, 600.0, ())


def test_three_broken_rows_in_a_hundred_are_named_and_left_out(tmp_path: Path) -> None:
    rows = [ROW.format(n=n) for n in range(100)]
    rows[10] = rows[10].replace("1.5 m", "high")
    rows[20] = rows[20].replace("line 1", "line 9")
    rows[30] = rows[30].replace("L30", "L29")
    line = written_line(tmp_path, "".join(rows))
    catalogue = read_catalogue(line)
    assert (catalogue.rows, len(catalogue.loads), catalogue.broken_rows) == (100, 97, 3)
    found = {each.code: each for each in catalogue.broken}
    # The heading is row 1 of the file, so load n stands in row n + 2.
    assert found["no number"].examples == ((12, "high"),)
    assert found["no machine"].examples == ((22, "line 9"),)
    assert found["twice"].examples == ((32, "L29"),)
    codes = [each.code for each in check_line(line, catalogue).findings]
    assert codes[0] == "rows_left_out"


def test_more_broken_rows_than_stated_are_refused(tmp_path: Path) -> None:
    rows = [ROW.format(n=n) for n in range(100)]
    for at in (10, 20, 30):
        rows[at] = rows[at].replace("1200", "")
    text = line_text("loads.csv").replace('refuse_above = "5 %"', 'refuse_above = "2 %"')
    line = written_line(tmp_path, "".join(rows), text)
    with pytest.raises(InputError) as refused:
        read_catalogue(line)
    told = problems(refused)
    assert "3 of 100 rows" in told
    assert "at most 2 %" in told
    assert "row 12" in told
    # Columns are named as columns of the table, and the share as it stands in the line's file.
    assert "column length" in told
    assert "refuse_above below [catalogue]" in told
    assert "catalogue." not in told


def test_load_that_reaches_the_exit_of_its_machine_is_left_out(tmp_path: Path) -> None:
    # Half of the diagonal of 2.9 m by 1 m is 1.534 m; the exit stands at 1.5 m.
    rows = ROW.format(n=1) * 1 + "".join(ROW.format(n=n) for n in range(2, 40))
    line = written_line(tmp_path, rows + "wide,2900,1000,1.5 m,600,40,100,line 1,thin film\n")
    catalogue = read_catalogue(line)
    (broken,) = catalogue.broken
    assert (broken.code, broken.count) == ("too wide", 1)


def test_unusual_column_is_asked_about_once(tmp_path: Path) -> None:
    rows = "".join(ROW.format(n=n) for n in range(10)).replace("1.5 m", "3.4 m")
    line = written_line(tmp_path, rows)
    with pytest.raises(InputError) as asked:
        read_catalogue(line)
    (question,) = asked.value.problems
    assert isinstance(question, Question)
    assert question.field == "catalogue.height"
    assert "10 rows" in question.given
    assert len(read_catalogue(line, ["height"]).loads) == 10


def test_heavy_load_in_a_small_box_is_asked_about(tmp_path: Path) -> None:
    # 2400 kg in 1.2 m x 1.0 m x 0.2 m are 10 000 kg/m^3, more than most rock.
    line = written_line(tmp_path, ROW.format(n=1).replace("1.5 m,600", "0.2 m,2400"))
    with pytest.raises(InputError, match=r"catalogue\.mass"):
        read_catalogue(line)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (('speed = "12 rpm"', ""), r"machine_models\[0\]\.machine\.speed"),
        (('name = "T12"', 'name = "T12"\n[machine_models.machine]\nkind="ring"\nspeed="30 rpm"\n'
          'exit_distance="1.5 m"\n[[machine_models]]\nname = "T12"'), "twice"),
        (('model = "@T12"', 'model = "@T13"'), "T13"),
        (('# candidates = ["@short gap"]', 'candidates = ["@long"]'), r"candidates\[0\]"),
        (('speed = "12 rpm"', 'speed = "12 rpm"\nsped = "1"'), 'Did you mean "speed"'),
        (("[[recipes]]", "[[recipe]]"), "recipes"),
    ],
)  # fmt: skip
def test_bad_line_is_refused_by_its_field(
    tmp_path: Path, change: tuple[str, str], told: str
) -> None:
    with pytest.raises(InputError, match=told):
        written_line(tmp_path, text=line_text().replace(*change))


@pytest.mark.parametrize(
    ("head", "told"),
    [
        (HEAD.replace("height", "height [N]"), "unit"),
        (HEAD.replace("height,", "tall,"), "height"),
        (HEAD.replace("width [mm]", "length"), "twice"),
        (HEAD.replace("length [mm],width [mm]", "a,b"), "diameter"),
    ],
)
def test_catalogue_without_its_columns_is_refused(tmp_path: Path, head: str, told: str) -> None:
    line = written_line(tmp_path, "")
    (tmp_path / "loads.csv").write_text(head + ROW.format(n=1), encoding="utf-8")
    with pytest.raises(InputError, match=told):
        read_catalogue(line)


def test_missing_catalogue_is_named(tmp_path: Path) -> None:
    line = written_line(tmp_path, text=line_text("none.csv"))
    with pytest.raises(InputError, match=r"none\.csv"):
        read_catalogue(line)


def test_several_models_ask_which_machine_wraps_a_load(tmp_path: Path) -> None:
    more = '\n[[machine_models]]\nname = "R30"\n[machine_models.machine]\nkind = "ring"\n'
    more += 'speed = "30 rpm"\nexit_distance = "1.6 m"\n'
    rows = "".join(ROW.format(n=n) for n in range(40)) + ROW.format(n=99).replace("line 1", "")
    line = written_line(tmp_path, rows, line_text("loads.csv") + more)
    (broken,) = read_catalogue(line).broken
    assert broken.code == "which machine"


def test_film_that_nobody_rates_is_a_finding(tmp_path: Path) -> None:
    line = written_line(tmp_path, text=line_text().replace('rated_prestretch = "300 %"', "#"))
    codes = [each.code for each in check_line(line, read_catalogue(line)).findings]
    assert "film_not_rated" in codes


def test_things_of_a_shelf_belong_to_the_line(tmp_path: Path) -> None:
    text = line_text()
    films = text.index("[[films]]")
    carriages = text.index("[[carriages]]")
    (tmp_path / "plant.toml").write_text(text[films:carriages], encoding="utf-8")
    without = text[:films] + text[carriages:]
    line = written_line(tmp_path, text=without.replace('# shelf = "', 'shelf = "'))
    assert [each.name for each in line.things.films] == ["thin film"]
    with pytest.raises(InputError, match="on its shelf"):
        written_line(tmp_path, text=text.replace('# shelf = "', 'shelf = "'))


def test_most_specific_recipe_goes_before_others(tmp_path: Path) -> None:
    more = "".join(
        f'\n[[recipes]]\nname = "{name}"\n{names}\n[recipes.program]\nforce_to_load = "30 N"\n'
        'overlap = "50 %"\n'
        for name, names in (
            ("of machine", 'machine_model = "@T12"'),
            ("of film", 'film = "@thin film"'),
            ("of load", 'loads = ["@jars"]'),
        )
    )
    line = written_line(tmp_path, text=line_text() + more)
    things = line.things
    (load,) = read_catalogue(line).loads
    model, film = things.models[0], things.films[0]
    assert recipe_for(things, model, film, load).name == "of load"
    other = type(load)("other", load.load, load.hold)
    assert recipe_for(things, model, film, other).name == "of film"


def test_case_of_a_choice_keeps_origins_and_what_was_typed(tmp_path: Path) -> None:
    text = line_text().replace(
        'thickness = "47 gauge"',
        'thickness = { value = "47 gauge", origin = "gauge block", low = "45 gauge",'
        ' high = "49 gauge" }',
    )
    line = written_line(tmp_path, text=text)
    things = line.things
    (load,) = read_catalogue(line).loads
    recipe = recipe_for(things, things.models[0], things.films[0], load)
    choice = LineChoice(things.candidates[0], things.models[0], things.films[0], recipe)
    case = case_of(things, choice, load)
    origins = {each.field: each.origin for each in case.inputs()}
    assert origins["film.thickness"].text == "gauge block"
    assert origins["film.reload_modulus"].is_placeholder


def test_loads_of_a_year_are_those_of_all_rows(tmp_path: Path) -> None:
    line = written_line(tmp_path, "".join(ROW.format(n=n) for n in range(7)))
    catalogue = read_catalogue(line)
    assert check_line(line, catalogue).loads_per_year == 700.0
    sample = catalogue.sample(3)
    assert [each.name for each in sample.loads] == ["L0", "L2", "L4"]
    assert (sample.left_aside, sample.broken_rows) == (4, 0)
    assert check_line(line, sample).findings[0].code == "only_a_sample"


def test_part_of_a_load_a_year_is_asked_about(tmp_path: Path) -> None:
    # "1.200" where commas stand for points may be twelve hundred, or one and a fifth.
    (tmp_path / "loads.csv").write_text(
        "load;length [mm];width [mm];height [m];mass [kg];loads_per_year\n"
        "A;1200;800;1,5;500;1.200\nB;1200;800;1,6;500;300\n",
        encoding="utf-8",
    )
    path = tmp_path / "line.toml"
    path.write_text(line_text("loads.csv"), encoding="utf-8")
    line = read_line(path)
    with pytest.raises(InputError, match=r"catalogue\.loads_per_year.*whole numbers"):
        read_catalogue(line)
    assert [each.load.height for each in read_catalogue(line, ["loads_per_year"]).loads] == [
        1.5,
        1.6,
    ]


def test_film_without_a_recipe_is_a_finding(tmp_path: Path) -> None:
    film = '\n[[films]]\nname = "other"\nroll_width = "20 in"\nthickness = "63 gauge"\n'
    text = line_text().replace('name = "plain"', 'name = "plain"\nfilm = "@thin film"') + film
    line = written_line(tmp_path, text=text)
    found = {each.code: each for each in check_line(line, read_catalogue(line)).findings}
    assert "jars in other on T12" in found["recipe_missing"].message


def test_names_that_hardly_differ_are_a_finding(tmp_path: Path) -> None:
    """A film that is listed again in capitals counts twice: the reader is told."""
    text = line_text("loads.csv")
    film = "[[films]]" + text.split("[[films]]")[1].split("\n[[")[0]
    again = film.replace('name = "thin film"', 'name = "Thin  FILM"', 1)
    assert again != film
    twice = text.replace("[[films]]", f"{again}\n\n[[films]]", 1)
    line = written_line(tmp_path, ROW.format(n=1), twice)
    findings = check_line(line, read_catalogue(line)).findings
    (told,) = [each.message for each in findings if each.code == "names_alike"]
    assert "Thin  FILM, thin film" in told

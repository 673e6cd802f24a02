"""Films over HTTP: pieces that go on where they stopped, a look at one picture, a judgement."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

cv2 = pytest.importorskip("cv2")

from arm_motion import Motion  # noqa: E402
from film_maker import Drawer, Scene, write_film  # noqa: E402
from woold.web.app import create_app  # noqa: E402
from woold.web.films import SentFilms  # noqa: E402
from woold.web.settings import WebSettings  # noqa: E402

# One film and one server for all of it.
pytestmark = pytest.mark.xdist_group("sent-films")

SCENE = Scene(width=480, height=270, length=9, motion=Motion(period=1.5))


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    store = str(tmp_path_factory.mktemp("store") / "store.sqlite")
    with TestClient(create_app(WebSettings(store=store)), base_url="http://localhost") as client:
        yield client


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    path = tmp_path_factory.mktemp("films") / "film.mp4"
    write_film(path, SCENE)
    return path.read_bytes()


def _send(client: TestClient, name: str, content: bytes) -> None:
    half = len(content) // 2
    for start, part in ((0, content[:half]), (half, content[half:])):
        answer = client.put(f"/api/films/{name}/{start}", content=part)
        assert answer.status_code == 200
    assert client.get(f"/api/films/{name}").json()["received"] == len(content)


def test_pieces_go_on_where_they_stopped(client: TestClient) -> None:
    put = client.put("/api/films/film-0001/0", content=b"abc")
    assert put.json()["received"] == 3
    assert client.put("/api/films/film-0001/0", content=b"ab").json()["received"] == 3
    assert client.put("/api/films/film-0001/9", content=b"x").status_code == 409
    early = client.post("/api/films/film-0001/judge", json={"size": 5})
    assert early.status_code == 409
    assert early.json()["errors"][0]["todo"].startswith("Send what is missing")
    other = client.post("/api/films/film-0001/judge", json={"size": 2})
    assert other.status_code == 409
    assert "delete it and send yours" in other.json()["errors"][0]["todo"]
    assert client.delete("/api/films/film-0001").status_code == 204
    assert client.get("/api/films/film-0001").json()["received"] == 0


def test_a_film_is_judged_and_deleted(client: TestClient, film: bytes) -> None:
    _send(client, "film-0002", film)
    body = {"size": len(film), "name": "line 1.mp4"}
    view = client.post("/api/films/film-0002/judge", json=body).json()
    assert view["study"]["verdict"] == view["study"]["trace"]["verdict"]
    assert view["study"]["file"] == "line 1.mp4"
    assert view["study"]["trace"]["turn_period_s"] == pytest.approx(1.5, rel=0.005)
    assert any("Lock out" in each for each in view["cautions"][0]["items"])
    assert client.get("/api/films/film-0002").json()["received"] == 0


def test_a_film_is_kept_if_asked(client: TestClient, film: bytes) -> None:
    _send(client, "film-0003", film)
    body = {"size": len(film), "keep": True, "arm_length": "300 mm", "stop_times": [0.3, 0.7]}
    trace = client.post("/api/films/film-0003/judge", json=body).json()["study"]["trace"]
    assert trace["position_kind"] == "small_length"
    assert trace["lower_hits"] is not None
    assert client.get("/api/films/film-0003").json()["received"] == len(film)
    client.delete("/api/films/film-0003")


def test_what_is_no_film_is_told_by_its_senders_name(client: TestClient) -> None:
    _send(client, "film-0004", b"no film at all, but text")
    body = {"size": 24, "name": "notes.mp4"}
    answer = client.post("/api/films/film-0004/judge", json=body)
    assert answer.status_code == 422
    problem = answer.json()["errors"][0]
    assert problem["field"] == "notes.mp4"
    assert "woold-films" not in answer.text


def test_what_is_asked_of_a_film_is_kept_or_refused_by_its_name(client: TestClient) -> None:
    """Before the film is read: what lies here is none."""
    _send(client, "film-0005", b"no film")
    body = {"size": 7}
    for field, bad in (
        ("pivot, arm", {"pivot": [5, 5]}),
        ("end", {"start": 5, "end": 2}),
        ("speed", {"speed": "-3 rpm"}),
        ("arm_length", {"arm_length": "-3 mm"}),
        ("stop_times[1]", {"stop_times": [1]}),
        ("stops", {"stops": ["1 deg", "2 mm"]}),
        ("limits", {"limits": ["loudness=3"]}),
        ("fit", {"fit": ["inertia"]}),  # without a case
        ("colour", {"colour": "red"}),
    ):
        answer = client.post("/api/films/film-0005/judge", json=body | bad)
        assert (answer.status_code, answer.json()["errors"][0]["field"]) == (422, field)
    long = body | {"arm_length": "900 mm"}
    asked = client.post("/api/films/film-0005/judge", json=long).json()["errors"][0]
    assert (asked["field"], asked["kind"]) == ("arm_length", "question")
    right = client.post("/api/films/film-0005/judge", json=long | {"as_typed": ["arm_length"]})
    assert right.json()["errors"][0]["given"] == "no film"


def test_a_look_at_one_picture(client: TestClient) -> None:
    picture = cv2.imencode(".jpg", Drawer(SCENE).frame(0.4))[1].tobytes()
    seen = client.post("/api/films/look", content=picture).json()
    assert seen["enough"]
    assert {each["tag"] for each in seen["tags"]} >= {"frame", "arm"}
    bare = cv2.imencode(".png", Drawer(SCENE).ground.astype("uint8"))[1].tobytes()
    seen = client.post("/api/films/look", content=bare).json()
    assert not seen["enough"]
    assert "frame, arm" in seen["words"]
    assert client.post("/api/films/look", content=b"nothing").status_code == 422


def test_a_film_ends_with_the_server() -> None:
    films = SentFilms()
    films.add("a1", 0, b"abc")
    path: Path = films.path("a1")
    assert path.exists()
    films.close()
    assert not path.parent.exists()

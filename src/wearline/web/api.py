"""The HTTP API: entries of tablets, and the same answers as the commands give."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from wearline.app.answers import job_answer, judgement_answer, road_answer
from wearline.app.draft_events import strict_json
from wearline.app.keeping import keep_answer
from wearline.assessment.verdicts import DecisionSettings
from wearline.ingest.write import document_from_inspection
from wearline.uncertainty.conformity import DecisionRule
from wearline.web.asking import Ask, ask_of, check_csrf
from wearline.web.judging import Judged, inspection_of_body, judge_all, with_options
from wearline.web.offline_catalogue import offline_catalogue
from wearline.web.openapi import ENTRIES_BODY, FILE_BODY, INSPECTION_BODY, PHOTO_BODY, answers
from wearline.web.photos import clean_photo
from wearline.web.plain import plain
from wearline.web.receiving import draft_list, draft_page, receive, running_answer
from wearline.web.refusals import Refusal, not_found
from wearline.web.shop import Shop

__all__ = ["router"]

router = APIRouter(prefix="/api/1")

_FRESH = {"cache-control": "private, no-store"}


async def _json_body(request: Request) -> Any:
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "application/json":
        raise Refusal(415, "the body is not JSON", where="content-type", allowed="application/json")
    return strict_json(await request.body())


async def _ask(request: Request, role: str) -> Ask:
    ask = await run_in_threadpool(ask_of, request, role)
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    # a page of another site can send a form without asking; JSON and files it cannot (Fetch standard, 2.2.2)
    simple = kind in ("", "text/plain", "application/x-www-form-urlencoded", "multipart/form-data")
    if request.method not in ("GET", "HEAD") and simple and "origin" not in request.headers:
        check_csrf(request, ask.person, "")
    return ask


@router.get("/me", responses=answers(description="Who is asking, and what a form must carry."))
def me(request: Request) -> Response:
    """Say who is asking."""
    ask = ask_of(request, "reads")
    person = ask.person
    body = {
        "schema": "wearline.me/1",
        "name": person.name,
        "shown_name": person.shown_name,
        "qualification": person.qualification,
        "roles": sorted(person.roles),
        "way": person.way,
        "csrf": person.csrf,
    }
    return JSONResponse(body, headers=_FRESH)


@router.post(
    "/events", responses=answers(description="What became of each entry."), openapi_extra=ENTRIES_BODY
)
async def events(request: Request) -> Response:
    """Take entries of a tablet; an entry is stored once, however often it is sent."""
    ask = await _ask(request, "measures")
    body = await _json_body(request)
    answer = await run_in_threadpool(receive, ask.shop, body, ask.person.name, ask.address)
    return JSONResponse(answer, headers=_FRESH)


@router.get("/drafts", responses=answers(description="Inspections in the making."))
def drafts(request: Request, all: bool = False) -> Response:
    """Name the inspections in the making."""
    ask = ask_of(request, "reads")
    found = draft_list(ask.shop, open_only=not all)
    return JSONResponse({"schema": "wearline.drafts/1", "drafts": found}, headers=_FRESH)


@router.get("/drafts/{draft}", responses=answers(description="The draft with what follows from it."))
def draft(request: Request, draft: str) -> Response:
    """Show one inspection in the making: entries, contradictions, judgement, what comes next."""
    ask = ask_of(request, "reads")
    return JSONResponse(draft_page(ask.shop, draft), headers=_FRESH)


@router.post(
    "/drafts/{draft}/judge",
    responses=answers(description="The running judgement."),
    openapi_extra=ENTRIES_BODY,
)
async def running(request: Request, draft: str) -> Response:
    """Judge a draft with entries that are not sent yet; nothing is stored."""
    ask = await _ask(request, "measures")
    body = await _json_body(request)
    # the long answer is written as text there too: the one thread that talks to everybody stays free
    return await run_in_threadpool(
        lambda: JSONResponse(running_answer(ask.shop, draft, body), headers=_FRESH)
    )


@router.post(
    "/photos", responses=answers(description="Fingerprints of the photograph."), openapi_extra=PHOTO_BODY
)
async def photo(request: Request) -> Response:
    """Take a photograph: only the picture is kept, without where it was taken."""
    ask = await _ask(request, "measures")
    content = await _uploaded(request)

    def take() -> dict[str, Any]:
        cleaned = clean_photo(content)
        known = ask.shop.shelf.photo(cleaned.original_sha256)
        kept = known or cleaned
        if known is None:
            ask.shop.shelf.add_photo(cleaned, ask.person.name, ask.shop.now)
        return {
            "schema": "wearline.photo/1",
            "sha256": kept.sha256,
            "original_sha256": kept.original_sha256,
            "type": kept.type,
            "width": kept.width,
            "height": kept.height,
        }

    return JSONResponse(await run_in_threadpool(take), headers=_FRESH)


async def _uploaded(request: Request) -> bytes:
    from starlette.formparsers import MultiPartException

    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "multipart/form-data":
        raise Refusal(415, "this is no upload", where="content-type", allowed="multipart/form-data")
    try:
        async with request.form(max_files=1, max_fields=10, max_part_size=100_000) as form:
            found = form.get("file")
            if isinstance(found, UploadFile):
                return await found.read()
    except (MultiPartException, AssertionError, ValueError) as error:
        raise Refusal(400, f"the upload cannot be read: {error}", where="body") from None
    raise Refusal(422, "no file was sent", where="file", allowed="one file in the field 'file'")


@router.get("/photos/{sha256}", include_in_schema=False)
def photo_content(request: Request, sha256: str) -> Response:
    """Show a photograph."""
    ask = ask_of(request, "reads")
    found = ask.shop.shelf.photo(sha256[:64])
    if found is None:
        raise not_found("there is no such photograph; it may still be on the tablet")
    headers = {"cache-control": "private, max-age=86400, immutable", "content-security-policy": "sandbox"}
    return Response(found.content, media_type=found.type, headers=headers)


@router.get("/catalogue.json", responses=answers(description="The catalogue as a tablet keeps it."))
def catalogue(request: Request) -> Response:
    """Give the catalogue for use without a network; its version changes with anything in it."""
    ask = ask_of(request, "reads")
    shop = ask.shop
    version, body = offline_catalogue(shop.catalogue(), shop.today, shop.settings())
    headers = {"cache-control": "private, no-cache", "etag": f'"{version}"'}
    if request.headers.get("if-none-match") == headers["etag"]:
        return Response(status_code=304, headers=headers)
    return Response(body, media_type="application/json", headers=headers)


@router.get("/vehicles", responses=answers(description="Vehicles of which something is kept."))
def vehicles(request: Request) -> Response:
    """Name the vehicles, as their latest inspections describe them."""
    ask = ask_of(request, "reads")
    return JSONResponse({"schema": "wearline.vehicles/1", "vehicles": _vehicles(ask.shop)}, headers=_FRESH)


def _vehicles(shop: Shop) -> list[dict[str, Any]]:
    from wearline.records.inspection import Inspection

    found = []
    for kept in shop.store.vehicles():
        bare = document_from_inspection(Inspection(kept.vehicle, kept.last_taken_on, ()))
        found.append(
            plain(
                {
                    "vehicle": bare["vehicle"],
                    "axle": bare["axle"],
                    "last": kept.last_taken_on,
                    "inspections": kept.inspections,
                }
            )
        )
    return found


Decide = Annotated[
    Literal["guarded", "simple"] | None, Query(description="Service limits with doubt or as they stand")
]
Packs = Annotated[list[str] | None, Query(description="Rule packs instead of those of the inspection")]
Inches = Annotated[list[str] | None, Query(description="Wheel ends whose lengths were typed in inches")]
Name = Annotated[str, Query(max_length=200, description="Name of the file, for messages")]


async def _judged(
    request: Request, decide: str | None, packs: list[str], inches: list[str], name: str
) -> Judged:
    ask = await _ask(request, "reads")
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    data = await request.body()
    body = strict_json(data) if kind == "application/json" else None

    def work() -> Judged:
        shop = ask.shop
        found = inspection_of_body(shop, data, kind, name, body)
        catalogue = shop.catalogue()
        rule = DecisionRule(decide or shop.settings().decision)
        return judge_all(
            with_options(found, catalogue, packs, inches), catalogue, DecisionSettings(service=rule)
        )

    return await run_in_threadpool(work)


def _answering(make: Callable[[Judged], Any]) -> Callable[..., Any]:
    async def answer(
        request: Request,
        decide: Decide = None,
        rule_pack: Packs = None,
        inches: Inches = None,
        name: Name = "",
    ) -> Response:
        judged = await _judged(request, decide, rule_pack or [], inches or [], name)
        return JSONResponse(make(judged), headers=_FRESH)

    return answer


def _road(judged: Judged) -> Any:
    cautions = tuple(statement.text for statement in judged.catalogue.work.authority)
    return road_answer(judged.road, judged.judgement.vehicle_id, cautions)


for _name, _make, _what in (
    ("judge", lambda judged: judgement_answer(judged.judgement), "judgement"),
    ("job", lambda judged: job_answer(judged.plan), "job"),
    ("road", _road, "road"),
):
    router.add_api_route(
        f"/{_name}",
        _answering(_make),
        methods=["POST"],
        responses=answers(_what, f"The same as 'wearline {_name} --json'."),
        openapi_extra=INSPECTION_BODY,
        operation_id=_name,
        summary=f"Answer as 'wearline {_name}' does.",
    )


@router.get("/inspections", responses=answers(description="Kept inspections, the latest first."))
def inspections(
    request: Request,
    vehicle: Annotated[str | None, Query(max_length=200)] = None,
    since: date | None = None,
    until: date | None = None,
    superseded: bool = False,
    limit: Annotated[int, Query(ge=1, le=1000)] = 100,
) -> Response:
    """Name kept inspections."""
    ask_of(request, "reads")
    index = request.app.state.index
    if vehicle is not None and "\0" in vehicle:
        raise Refusal(422, "the name of the vehicle holds a NUL", where="vehicle")
    found = index.history(vehicle, since, until, superseded=superseded)[:limit]
    rows = [plain(row) for row in found]
    return JSONResponse({"schema": "wearline.inspections/1", "inspections": rows}, headers=_FRESH)


@router.get("/inspections/{inspection}", responses=answers(description="What was kept, and by whom."))
def inspection(request: Request, inspection: str) -> Response:
    """Show a kept inspection as a document of the inspection file's shape."""
    ask = ask_of(request, "reads")
    kept = ask.shop.store.inspection(inspection[:100].replace("\0", ""))
    signed = ask.shop.journal.signatures([kept.id]).get(kept.id, [])
    body = {
        "schema": "wearline.inspection/1",
        "id": kept.id,
        "digest": kept.digest,
        "kept_by": kept.kept_by,
        "kept_at": kept.kept_at,
        "supersedes": kept.supersedes,
        "superseded_by": kept.superseded_by,
        "reason": kept.reason,
        "signatures": signed,
        "document": document_from_inspection(kept.inspection),
    }
    return JSONResponse(plain(body), headers=_FRESH)


@router.post("/inspections", responses=answers("kept", "Under which id it is kept."), openapi_extra=FILE_BODY)
async def keep(
    request: Request,
    name: Name = "",
    corrects: Annotated[str, Query(max_length=100)] = "",
    because: Annotated[str, Query(max_length=500)] = "",
    counter_exchanged: bool = False,
) -> Response:
    """Keep an inspection for good, as 'wearline keep' does."""
    ask = await _ask(request, "measures")
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    data = await request.body()
    body = strict_json(data) if kind == "application/json" else None

    def work() -> Any:
        found = inspection_of_body(ask.shop, data, kind, name, body)
        receipt = ask.shop.store.keep(
            found,
            kept_by=ask.person.shown_name or ask.person.name,
            kept_at=ask.shop.now,
            supersedes=corrects or None,
            reason=because,
            counter_exchanged=counter_exchanged,
        )
        ask.log("keep inspection", receipt.id, because)
        return keep_answer(receipt)

    return JSONResponse(await run_in_threadpool(work), headers=_FRESH)

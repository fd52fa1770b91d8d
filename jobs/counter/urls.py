from django.urls import URLPattern, URLResolver, include, path

from jobs.counter import notices, pads, page_papers, papers
from jobs.counter.client import client, client_note
from jobs.counter.doors import more, own_more, studio_doors
from jobs.counter.dropoff.views import (
    drop_off,
    drop_off_clients,
    drop_off_hem,
    ticket_answer,
    ticket_change,
    ticket_saved,
)
from jobs.counter.first_steps import first_steps_away
from jobs.counter.messages import client_page, settings
from jobs.counter.messages import views as word
from jobs.counter.privacy.views import client_erase, client_export, client_privacy
from jobs.counter.rail import rail, went_back
from jobs.counter.setup import setup, setup_hours, setup_tax
from jobs.counter.ticket import ticket
from jobs.counter.ticket_list import tickets
from jobs.counter.today import today
from jobs.counter.two_entries import client_merge
from jobs.counter.views import find, handed_over, pick_up, ticket_pick_up
from jobs.counter.year.urls import board

urlpatterns: list[URLPattern | URLResolver] = [
    path("", today, name="today"),
    path("first-steps/away/", first_steps_away, name="first-steps-away"),
    path("tickets/", tickets, name="tickets"),
    path("find/", find, name="find"),
    path("rail/", rail, name="rail"),
    path("rail/went-back/", went_back, name="rail-went-back"),
    path("more/", more, name="more"),
    path("studio/", studio_doors, name="studio-settings"),
    path("drop-off/", drop_off, name="drop-off"),
    path("drop-off/hem/", drop_off_hem, name="drop-off-hem"),
    path("drop-off/clients/", drop_off_clients, name="drop-off-clients"),
    path("setup/", setup, name="setup"),
    path("setup/tax/", setup_tax, name="setup-tax"),
    path("setup/hours/", setup_hours, name="setup-hours"),
    path("t/<slug:number>/", ticket, name="ticket"),
    path("t/<slug:number>/saved/", ticket_saved, name="ticket-saved"),
    path("t/<slug:number>/change/", ticket_change, name="ticket-change"),
    path("t/<slug:number>/answer/", ticket_answer, name="ticket-answer"),
    path("t/<slug:number>/message/", word.ticket_message, name="ticket-message"),
    path("t/<slug:number>/message/told/", word.ticket_told, name="ticket-told"),
    path("t/<slug:number>/message/mail/", word.ticket_mail, name="ticket-mail"),
    path("t/<slug:number>/not-collected.pdf", word.ticket_notice, name="ticket-notice"),
    path("t/<slug:number>/client-page/open/", client_page.page_open, name="client-page-open"),
    path("t/<slug:number>/client-page/renew/", client_page.page_renew, name="client-page-renew"),
    path("t/<slug:number>/client-page/close/", client_page.page_close, name="client-page-close"),
    path("c/<slug:key>/", client_page.client_page, name="client-page"),
    path("messages/", word.what_to_say, name="what-to-say"),
    path("uncollected/", word.not_collected, name="uncollected"),
    path("studio/messages/", settings.studio_messages, name="studio-messages"),
    path("studio/mail/", settings.studio_mail, name="studio-mail"),
    path("studio/mail/test/", settings.studio_mail_test, name="studio-mail-test"),
    path("pick-up/", pick_up, name="pick-up"),
    path("t/<slug:number>/pick-up/", ticket_pick_up, name="ticket-pick-up"),
    path("t/<slug:number>/handed-over/", handed_over, name="ticket-handed-over"),
    path("clients/<int:pk>/", client, name="client"),
    path("clients/<int:pk>/note/", client_note, name="client-note"),
    path("clients/<int:pk>/merge/", client_merge, name="client-merge"),
    path("clients/<int:pk>/privacy/", client_privacy, name="client-privacy"),
    path("clients/<int:pk>/privacy/export/", client_export, name="client-export"),
    path("clients/<int:pk>/privacy/erase/", client_erase, name="client-erase"),
    path("papers/", notices.notices, name="notices"),
    path("papers/prices.pdf", notices.price_list, name="paper-prices"),
    path(
        "papers/prices-folded.pdf",
        notices.price_list,
        {"folded": True},
        name="paper-prices-folded",
    ),
    path("papers/day-end.pdf", notices.day_end, name="paper-day-end"),
    path("papers/if-i-cannot-work.pdf", notices.in_case, name="paper-in-case"),
    path("papers/evening-list.pdf", notices.rack, name="paper-rack"),
    path("papers/how-to-measure.pdf", notices.measures, name="paper-measures"),
    path("papers/cautions.pdf", notices.cautions, name="paper-cautions"),
    path("today.pdf", page_papers.today_paper, name="paper-today"),
    path("week/<slug:monday>.pdf", page_papers.week_paper, name="paper-week"),
    path("year/<int:year>.pdf", page_papers.year_paper, name="paper-year"),
    path("pads/", pads.pads, name="pads"),
    path("pads/<int:pk>/", pads.pad, name="pad"),
    path("pads/<int:pk>/void/", pads.pad_void, name="pad-void"),
    path("pads/<int:pk>/tickets.pdf", pads.pad_paper, name="pad-paper"),
    path("t/<slug:number>/papers.pdf", papers.papers, name="ticket-papers"),
    path("t/<slug:number>/papers/<int:printer>.pdf", papers.papers, name="ticket-press"),
    path("t/<slug:number>/claim.pdf", papers.claim, name="ticket-claim"),
    path("t/<slug:number>/claim-large.pdf", papers.large_claim, name="ticket-large"),
    path("t/<slug:number>/slip.pdf", papers.slip, name="ticket-roll"),
    path("t/<slug:number>/tags.pdf", papers.tags, name="ticket-tags"),
    path("t/<slug:number>/work-sheet.pdf", papers.work_sheet, name="ticket-work-sheet"),
    path(
        "t/<slug:number>/agreements/<int:version>.pdf",
        papers.agreement_paper,
        name="agreement-paper",
    ),
    path(
        "t/<slug:number>/agreements/<int:version>/claim.pdf",
        papers.agreement_claim,
        name="agreement-claim",
    ),
    path("year/", include("jobs.counter.year.urls")),
    path("own/more/", own_more, name="own-more"),
    path("own/year/", include(board)),
]

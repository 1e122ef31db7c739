"""Every address of the installation; the packages keep their own."""

from django.urls import URLPattern, URLResolver, include, path

from shop.views import mine, partners, people, person, record, sign_in, start, terminals
from shop.views.health import health
from shop.views.theme import theme

handler400 = "shop.http.pages.not_read"
handler403 = "shop.http.pages.not_allowed"
handler404 = "shop.http.pages.not_found"
handler500 = "shop.http.pages.broken"

urlpatterns: list[URLPattern | URLResolver] = [
    # An address is looked for from above: what is asked for all day stands first.
    path("", include("builds.urls")),
    path("", start.home, name="home"),
    path("health/", health, name="health"),
    path("theme/", theme, name="theme"),
    path("extend/", start.extend, name="extend"),
    path("sign-in/", sign_in.sign_in, name="sign_in"),
    path("sign-in/pin/", sign_in.sign_in_pin, name="sign_in_pin"),
    path("sign-in/office/", sign_in.office_sign_in, name="office_sign_in"),
    path("sign-out/", sign_in.sign_out, name="sign_out"),
    path("mine/", mine.mine, name="mine"),
    path("mine/pin/", mine.my_pin, name="my_pin"),
    path("mine/password/", mine.my_password, name="my_password"),
    path("people/", people.people_list, name="people"),
    path("people/<slug:code>/", person.person, name="person"),
    path("people/<slug:code>/badge/", person.badge_issue, name="badge_issue"),
    path("people/<slug:code>/badge/revoke/", person.badge_revoke, name="badge_revoke"),
    path("people/<slug:code>/pin/", person.pin_set, name="pin_set"),
    path("people/<slug:code>/password/", person.password_set, name="password_set"),
    path("people/<slug:code>/roles/", person.role_give, name="role_give"),
    path("people/<slug:code>/roles/<int:number>/end/", person.role_end, name="role_end"),
    path("people/<slug:code>/skills/", person.skill_give, name="skill_give"),
    path("people/<slug:code>/skills/<int:number>/end/", person.skill_end, name="skill_end"),
    path("people/<slug:code>/retire/", person.retire, name="retire"),
    path("terminals/", terminals.terminals, name="terminals"),
    path("terminals/register/", terminals.terminal_register, name="terminal_register"),
    path("terminals/<str:code>/revoke/", terminals.terminal_revoke, name="terminal_revoke"),
    path("stations/", terminals.station_add, name="station_add"),
    path("shifts/", terminals.shift_set, name="shift_set"),
    path("record/", record.record, name="record"),
    path("partners/", partners.partners, name="partners"),
    path("partners/customers/", partners.customer_add, name="customer_add"),
    path("partners/customers/<str:code>/", partners.customer, name="customer"),
    path("partners/suppliers/", partners.supplier_add, name="supplier_add"),
    path("", include("measurements.urls")),
]

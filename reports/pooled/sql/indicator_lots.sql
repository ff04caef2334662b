-- Lots of chemical indicators over all sites: failures beside those that the other lots at the same sites, in the same
-- process and position, lead to expect. A lot is worth a look where n_failed is far above n_expected at several sites.
with uses as (
    select i.site as site, c.process as process, i.position as position, i.lot as lot,
           case when i.result in ('not reached', 'unreadable') then 1 else 0 end as failed
    from indicators i
    join loads l on i.site = l.site and i.load_key = l.load_key
    join cycles c on l.site = c.site and l.cycle_key = c.cycle_key
    where i.kind = 'ci' and i.lot is not null and not i.superseded
),
per_lot as (
    select site, process, position, lot, count(*) as n, sum(failed) as k
    from uses group by site, process, position, lot
),
per_site as (
    select site, process, position, sum(n) as n, sum(k) as k
    from per_lot group by site, process, position
)
select p.process as process, p.position as position, p.lot as lot,
       count(*) as n_sites, sum(p.n) as n_used, sum(p.k) as n_failed,
       sum(case when s.n > p.n then cast(p.n as double) * (s.k - p.k) / (s.n - p.n) else cast(0 as double) end) as n_expected
from per_lot p
join per_site s on p.site = s.site and p.process = s.process and p.position = s.position
group by p.process, p.position, p.lot
order by p.process, p.position, p.lot

-- What the records of loads support, by site and decision, and how many of them were let go.
select d.site as site, d.decision as decision, count(*) as n_loads,
       sum(case when l.signed = 'release' then 1 else 0 end) as n_let_go
from decisions d
join loads l on d.site = l.site and d.load_key = l.load_key
group by d.site, d.decision
order by site, decision

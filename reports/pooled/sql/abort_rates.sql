-- Aborts and rejections by process: each site beside all sites together.
select process, site, count(*) as n_cycles,
       sum(case when outcome = 'aborted' then 1 else 0 end) as n_aborted,
       sum(case when outcome = 'rejected' then 1 else 0 end) as n_rejected,
       100 * cast(sum(case when outcome = 'aborted' then 1 else 0 end) as double) / count(*) as percent_aborted
from cycles
where purpose = 'load'
group by process, site
union all
select process, '(all)' as site, count(*) as n_cycles,
       sum(case when outcome = 'aborted' then 1 else 0 end) as n_aborted,
       sum(case when outcome = 'rejected' then 1 else 0 end) as n_rejected,
       100 * cast(sum(case when outcome = 'aborted' then 1 else 0 end) as double) / count(*) as percent_aborted
from cycles
where purpose = 'load'
group by process
order by process, site

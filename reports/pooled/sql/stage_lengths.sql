-- Lengths of stages by unit, program and month, in seconds: where the mean rises from month to month, look at the unit.
select s.site as site, s.unit as unit, s.program as program, s.stage as stage,
       extract(year from s.began_local) as year, extract(month from s.began_local) as month,
       count(*) as n_stages, avg(s.duration_s) as mean_s, min(s.duration_s) as shortest_s, max(s.duration_s) as longest_s
from stages s
join cycles c on s.site = c.site and s.cycle_key = c.cycle_key
where c.purpose = 'load' and c.outcome = 'completed' and s.duration_s is not null
group by s.site, s.unit, s.program, s.stage, extract(year from s.began_local), extract(month from s.began_local)
order by site, unit, program, stage, year, month

-- What cycles were aborted or rejected for: by process, stage and cause, over all sites.
select process, outcome, aborted_stage, cause, count(*) as n_cycles, count(distinct site) as n_sites
from cycles
where purpose = 'load' and outcome in ('aborted', 'rejected')
group by process, outcome, aborted_stage, cause
order by process, outcome, aborted_stage, cause
